"""Once a night: finished runs and their logs go, and answers kept for idempotency keys.

Runs that wait or work are never touched, however old they are.
"""

from collections.abc import Callable, Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef

from coop import keeping
from coop.api.idempotency import forget_old_answers
from coop.jobs import registry
from coop.jobs.models import JobLogLine, JobRun, JobState

FORGET_RUNS = "jobs.forget_old_runs"
FORGET_ANSWERS = "answers.forget_old"
FROM_HOUR = 8
"""By UTC, when it is night all over North America. Common practice, no source."""
_FINISHED = (JobState.DONE, JobState.FAILED, JobState.CANCELLED)

Report = Callable[[int, str], None]


def forget_old_logs(*, now: datetime, report: Report) -> int:
    """Delete the log lines of runs that ended too long ago; returns of how many runs."""
    old = JobRun.objects.filter(
        Exists(JobLogLine.objects.filter(run=OuterRef("id"))),
        state__in=_FINISHED,
        finished_at__lt=keeping.kept_since("job_logs", now),
    )

    def end(ids: list[UUID]) -> None:
        JobLogLine.objects.filter(run__in=ids).delete()

    return keeping.forget(old, end, report=report)


def forget_old_runs(*, now: datetime, report: Report) -> int:
    """Delete runs that ended too long ago, with what is left of their logs; returns how many."""
    old = JobRun.objects.filter(
        state__in=_FINISHED, finished_at__lt=keeping.kept_since("jobs", now)
    )
    return keeping.forget(
        old, lambda ids: JobRun.objects.filter(id__in=ids).delete(), report=report
    )


def nightly(name: str) -> registry.Schedule:
    """A schedule that finds ``name`` due once a day, by night."""

    def due(now: datetime) -> Iterable[registry.DueJob]:
        if now.hour >= FROM_HOUR:
            yield registry.DueJob(name=name, scope="", period=f"{now:%Y-%m-%d}")

    return due


def register() -> None:
    """Called once by the app when it is ready."""
    for name, handler in ((FORGET_RUNS, _runs), (FORGET_ANSWERS, _answers)):
        registry.register_job(name, handler, urgency=registry.Urgency.SLOW)
        registry.register_schedule(name, nightly(name))


def _runs(job: registry.JobContext) -> dict[str, int]:
    return {
        "logs": forget_old_logs(now=job.now, report=job.report),
        "runs": forget_old_runs(now=job.now, report=job.report),
    }


def _answers(job: registry.JobContext) -> dict[str, int]:
    return {"answers": forget_old_answers(now=job.now, report=job.report)}

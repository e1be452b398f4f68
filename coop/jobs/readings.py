"""What a metrics collector is told of jobs: what waits, what failed, how long runs take."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import (
    Avg,
    Count,
    DurationField,
    ExpressionWrapper,
    F,
    Max,
    Min,
    QuerySet,
)

from coop.jobs.models import JobRun, JobState
from coop.jobs.queries import due_runs, stuck_runs
from coop.telemetry.metrics import Values, register_reading

RECENT = timedelta(days=1)


def register() -> None:
    register_reading("coop_jobs", "Job runs by name and state.", _counts, labels=("name", "state"))
    register_reading(
        "coop_oldest_due_job_seconds", "How long the oldest due job has been waiting.", _lag
    )
    register_reading(
        "coop_oldest_urgent_job_seconds",
        "How long the oldest due job that is urgent has been waiting.",
        _urgent_lag,
    )
    register_reading("coop_stuck_jobs", "Runs whose worker gives no sign of life.", _stuck)
    register_reading(
        "coop_job_seconds",
        "Time that runs of the last day took, from their last start to their end.",
        _taken,
        labels=("name", "statistic"),
    )


def _counts(now: datetime) -> Values:
    rows = JobRun.objects.values("name", "state").annotate(runs=Count("id"))
    return [({"name": row["name"], "state": row["state"]}, row["runs"]) for row in rows]


def _lag(now: datetime) -> Values:
    return _oldest(due_runs(now=now), now)


def _urgent_lag(now: datetime) -> Values:
    return _oldest(due_runs(now=now, urgent_only=True), now)


def _oldest(due: QuerySet[JobRun], now: datetime) -> Values:
    oldest = due.aggregate(oldest=Min("due_at"))["oldest"]
    return [({}, (now - oldest).total_seconds() if oldest else 0.0)]


def _stuck(now: datetime) -> Values:
    return [({}, stuck_runs(now=now).count())]


def _taken(now: datetime) -> Iterator[tuple[dict[str, str], float]]:
    spent = ExpressionWrapper(F("finished_at") - F("started_at"), output_field=DurationField())
    done = JobRun.objects.filter(
        state=JobState.DONE, started_at__isnull=False, finished_at__gt=now - RECENT
    )
    for row in done.values("name").annotate(mean=Avg(spent), max=Max(spent)):
        for statistic in ("mean", "max"):
            labels = {"name": row["name"], "statistic": statistic}
            yield labels, row[statistic].total_seconds()

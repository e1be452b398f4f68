"""The demo's jobs: queued as anybody's are, and run from their rows by the local runner.

The day may have been chosen by hand, so the runner's clock is the demo's.
"""

from collections.abc import Callable, Mapping
from typing import Any

from coop.demo.build import Built
from coop.demo.scenario import Calendar
from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from coop.reports import month_job
from coop.reports.periods import month_before
from properties.wind.jobs import COMPUTE_FITS

OnRun = Callable[[JobRun], None]


class DemoJobFailed(RuntimeError):
    """A job of the demo did not end well; the sentence names it and says why."""


def queue_fits(built: Built, calendar: Calendar) -> list[JobRun]:
    """Fits of every property for the week, once for the forecast's day."""
    return [_queue(COMPUTE_FITS, land.id, f"demo-{calendar.today}", calendar) for land in _lands(built)]


def queue_months(built: Built, calendar: Calendar) -> list[JobRun]:
    """The report of the last whole month of every property."""
    month = month_before(calendar.now, calendar.zone.key)
    return [
        _queue(month_job.NAME, land.id, f"{month:%Y-%m}", calendar, {"month": f"{month:%Y-%m}"})
        for land in _lands(built)
    ]


def drain(calendar: Calendar, *, on_run: OnRun = lambda _run: None) -> int:
    """Hand on facts and run what is due until nothing is left; returns the runs finished.

    Raises :class:`DemoJobFailed` for the first run that did not end well.
    """
    finished = 0
    while True:
        outbox.drain(now=calendar.now)
        waiting = jobs.waiting(now=calendar.now)
        if not waiting:
            return finished
        for run_id in waiting:
            run = jobs.run_job(run_id=run_id, now=calendar.now)
            if run is None:
                continue
            if run.state != JobState.DONE:
                raise DemoJobFailed(f"{run.name} ended as {run.state}: {run.error}")
            finished += 1
            on_run(run)


def is_known(name: str) -> bool:
    return name in registry.job_names()


def _lands(built: Built) -> list[Any]:
    return sorted(built.lands.values(), key=lambda land: land.name)


def _queue(
    name: str,
    property_id: Any,
    period: str,
    calendar: Calendar,
    parameters: Mapping[str, Any] | None = None,
) -> JobRun:
    return jobs.enqueue(
        name=name,
        scope=str(property_id),
        period=period,
        now=calendar.now,
        parameters={"property": str(property_id), **(parameters or {})},
        property_id=property_id,
    )

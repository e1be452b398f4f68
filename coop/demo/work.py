"""The demo's jobs: queued as the schedules would, and run from their rows by the local runner.

The day may have been chosen by hand, so the runner's clock is the demo's. A run stands once for
each job, place and period: a second demo on the same day finds them done.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from coop.demo.build import Built, builder
from coop.demo.scenario import Calendar
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from coop.reports import month_job
from coop.reports.periods import month_before
from properties.land.models import Property
from properties.wind.jobs import COMPUTE_FITS, LEARN
from scheduling.rotation.jobs import RECOMPUTE
from scheduling.rotation.models import PlanState, RotationPlan
from scheduling.rotation.queries import groups_of
from scheduling.rotation.services import publish_plan
from scrapes.care.jobs import REVIEW

OnRun = Callable[[JobRun], None]


class DemoJobFailed(RuntimeError):
    """A job of the demo did not end well; the sentence names it and says why."""


@dataclass(frozen=True, kw_only=True)
class Drained:
    runs: int
    facts: int
    messages: int


def queue_fits(built: Built, calendar: Calendar) -> list[JobRun]:
    """The stands' own wind out of the season's reports, then the fits of the week."""
    return [
        _queue(name, land, f"{calendar.today}", calendar)
        for name in (LEARN, COMPUTE_FITS)
        for land in _lands(built)
    ]


def queue_reviews(built: Built, calendar: Calendar) -> list[JobRun]:
    """Today's review of every property's scrapes."""
    return [_queue(REVIEW, land, f"{calendar.today}", calendar) for land in _lands(built)]


def queue_rotation(built: Built, calendar: Calendar) -> list[JobRun]:
    """Today's draft for each group of properties that shares members."""
    return [
        _queue(
            RECOMPUTE,
            lands[0],
            f"{calendar.today}",
            calendar,
            {"properties": [str(land.id) for land in lands]},
        )
        for lands in groups_of(built.cooperative)
    ]


def publish_drafts(built: Built, calendar: Calendar) -> list[str]:
    """Publish the drafts, which no machine does in earnest; what it did to people's sits."""
    drafts = RotationPlan.objects.filter(cooperative=built.cooperative, state=PlanState.DRAFT)
    return [
        publish_plan(actor=builder(), plan=plan, now=calendar.now).placed.sentence
        for plan in drafts.order_by("computed_at")
    ]


def queue_months(built: Built, calendar: Calendar) -> list[JobRun]:
    """The report of the last whole month of every property."""
    month = f"{month_before(calendar.now, calendar.zone.key):%Y-%m}"
    return [
        _queue(month_job.NAME, land, month, calendar, {"month": month}) for land in _lands(built)
    ]


def drain(calendar: Calendar, *, on_run: OnRun = lambda _run: None) -> Drained:
    """Hand on facts, send messages and run what is due, until nothing is left.

    Raises :class:`DemoJobFailed` for the first run that did not end well.
    """
    runs = facts = messages = 0
    while True:
        handled, sent = outbox.drain(now=calendar.now)
        facts, messages = facts + handled, messages + sent
        waiting = jobs.waiting(now=calendar.now)
        if not waiting and not handled:
            return Drained(runs=runs, facts=facts, messages=messages)
        for run_id in waiting:
            run = jobs.run_job(run_id=run_id, now=calendar.now)
            if run is None:
                continue
            if run.state != JobState.DONE:
                raise DemoJobFailed(f"{run.name} ended as {run.state}: {run.error}")
            runs += 1
            on_run(run)


def _lands(built: Built) -> list[Property]:
    return sorted(built.lands.values(), key=lambda land: land.name)


def _queue(
    name: str,
    land: Property,
    period: str,
    calendar: Calendar,
    parameters: Mapping[str, Any] | None = None,
) -> JobRun:
    return jobs.enqueue(
        name=name,
        scope=str(land.id),
        period=period,
        now=calendar.now,
        parameters={"property": str(land.id), **(parameters or {})},
        property_id=land.id,
    )

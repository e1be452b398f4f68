"""The demo's jobs: queued as the schedules would, and run from their rows by the local runner.

The day may have been chosen by hand, so the runner's clock is the demo's. A run stands once for
each job, place and period: a second demo on the same day finds them done.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from coop.demo.build import Built, builder
from coop.demo.scenario import Calendar
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.jobs.runner import Drained, drain_once
from coop.outbox import services as outbox
from coop.reports import month_job
from coop.reports.own.gather import current_season_year
from coop.reports.periods import month_before
from coop.reports.season import job as season_job
from properties.land.models import Property
from properties.wind.jobs import COMPUTE_FITS, LEARN
from scheduling.rotation.jobs import RECOMPUTE
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.queries import groups_of
from scheduling.rotation.services import StalePlan, mark_stale, publish_plan
from scrapes.care.jobs import REVIEW

OnRun = Callable[[JobRun], None]


class DemoJobFailed(RuntimeError):
    """A job of the demo did not end well; the sentence names it and says why."""


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


def publish_drafts(runs: Iterable[JobRun], calendar: Calendar) -> list[str]:
    """Publish what these runs computed, which no machine does in earnest; what came of each."""
    plans = RotationPlan.objects.filter(id__in=[run.result["plan"] for run in runs])
    return [_publish(plan, calendar) for plan in plans.order_by("id")]


def _publish(plan: RotationPlan, calendar: Calendar) -> str:
    try:
        return publish_plan(actor=builder(), plan=plan, now=calendar.now).placed.sentence
    except StalePlan as stale:
        # Somebody who tries the demo out meanwhile may well enter a wish or take a seat.
        mark_stale(plan=plan)
        return f"nothing: {stale.detail.rstrip('.')}"


def queue_months(built: Built, calendar: Calendar) -> list[JobRun]:
    """The report of the last whole month of every property."""
    month = f"{month_before(calendar.now, calendar.zone.key):%Y-%m}"
    return [
        _queue(month_job.NAME, land, month, calendar, {"month": month}) for land in _lands(built)
    ]


def queue_season(built: Built, calendar: Calendar) -> JobRun:
    """The cooperative's season so far."""
    season_year = current_season_year(built.cooperative, calendar.now)
    return jobs.enqueue(
        name=season_job.NAME,
        scope=str(built.cooperative.id),
        period=f"{season_year} by {calendar.today}",
        now=calendar.now,
        parameters={"cooperative": str(built.cooperative.id), "season_year": season_year},
    )


def drain(calendar: Calendar, *, on_run: OnRun = lambda _run: None) -> Drained:
    """Let the local runner do what is due by the demo's clock, until nothing is left.

    Raises :class:`DemoJobFailed` for the first run that did not end well.
    """

    def check(run: JobRun) -> None:
        if run.state != JobState.DONE:
            raise DemoJobFailed(f"{run.name} ended as {run.state}: {run.error}")
        on_run(run)

    runs = facts = messages = 0
    while True:
        done = drain_once(
            drain_outbox=lambda: outbox.drain(now=calendar.now),
            on_run=check,
            clock=lambda: calendar.now,
        )
        runs, facts = runs + done.runs, facts + done.facts
        messages += done.messages
        if done.nothing:
            return Drained(runs=runs, facts=facts, messages=messages)


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

"""The jobs that compute drafts, for each group of properties: nightly, on new fits, on request.

One more weighs what single loosened rules would serve.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from coop.access.actors import system_actor
from coop.jobs import bell, registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.outbox.services import on_fact
from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Cooperative, Property
from properties.land.services import PROPERTY_CLOSED, PROPERTY_OPENED
from properties.wind.jobs import FITS_COMPUTED
from scheduling.rotation import relaxation_services, services
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.queries import group_with, groups_of, has_something_to_plan
from scheduling.rotation.settings import RotationSettings
from scheduling.sits.closure_models import ClosureOutcome

RECOMPUTE = "rotation.recompute"
RELAXATIONS = "rotation.relaxations"
NIGHTLY_HOUR = 3


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(RECOMPUTE, recompute, urgency=registry.Urgency.SLOW)
    registry.register_job(RELAXATIONS, weigh_relaxations, urgency=registry.Urgency.SLOW)
    registry.register_schedule(RECOMPUTE, nightly)
    on_fact(FITS_COMPUTED, queue_for_new_fits)
    on_fact(PROPERTY_CLOSED, queue_for_closed_ground)
    on_fact(PROPERTY_OPENED, queue_for_opened_ground)


def queue(
    *,
    lands: list[Property],
    now: datetime,
    requested_by_id: UUID | None = None,
) -> JobRun:
    """Queue a draft for a group, or hurry the run that is waiting for it.

    A run that is being computed stops once this one is due.
    """
    run = _queue_unless_waiting(lands, now, requested_by_id)
    if JobRun.objects.filter(id=run.id, state=JobState.QUEUED, due_at__gt=now).update(due_at=now):
        transaction.on_commit(lambda: bell.ring_job(run.id))
    return run


def queue_for_new_fits(ids: Mapping[str, str], now: datetime) -> None:
    """Fits were computed anew: a draft for the group, once they have settled.

    Many properties get their forecast within minutes of each other; the group's draft waits
    for them and is computed once. Without a wish or a planned sit to come there is none.
    """
    _queue_when_settled(ids, now)


def queue_for_closed_ground(ids: Mapping[str, str], now: datetime) -> None:
    """Ground was closed: a draft once whoever closes has done, and the closure names its run.

    The sits of the closed ground are released before, in the same transaction.
    """
    run = _queue_when_settled(ids, now)
    if run is not None:
        outcome = ClosureOutcome.objects.filter(closure=UUID(ids["closure"]), run_id=None)
        outcome.update(run_id=run.id)


def queue_for_opened_ground(ids: Mapping[str, str], now: datetime) -> None:
    """Ground was opened: a draft, as when it was closed."""
    _queue_when_settled(ids, now)


def _queue_when_settled(ids: Mapping[str, str], now: datetime) -> JobRun | None:
    """A draft for the group of a fact's property a few minutes later; None: nothing to plan."""
    land = Property.objects.select_related("cooperative").get(id=ids["property"])
    if land.retired_at is not None:
        return None
    lands = group_with(land)
    if not has_something_to_plan(lands, today=local_date_on(land, now)):
        return None
    settings = layered_settings.resolve(RotationSettings, land.cooperative.settings)
    return _queue_unless_waiting(lands, now + timedelta(minutes=settings.settle_minutes))


def _queue_unless_waiting(
    lands: list[Property], due_at: datetime, requested_by_id: UUID | None = None
) -> JobRun:
    ids = sorted(str(land.id) for land in lands)
    return jobs.enqueue_unless_waiting(
        name=RECOMPUTE,
        scope=ids[0],
        now=due_at,
        parameters={"properties": ids},
        property_id=UUID(ids[0]),
        requested_by_id=requested_by_id,
    )


def queue_relaxations(
    *, plan: RotationPlan, now: datetime, requested_by_id: UUID | None = None
) -> JobRun:
    """Queue the weighing of a plan's relaxations, or return the run that waits to do it."""
    return jobs.enqueue_unless_waiting(
        name=RELAXATIONS,
        scope=str(plan.id),
        now=now,
        parameters={"plan": str(plan.id)},
        property_id=plan.properties.order_by("id").values_list("id", flat=True)[0],
        requested_by_id=requested_by_id,
    )


def weigh_relaxations(job: registry.JobContext) -> dict[str, Any]:
    """What each loosened rule would serve; the answer is kept beside the plan, not here.

    Whoever may see the run need not be allowed to see every property of the plan.
    """
    plan = relaxation_services.weigh_relaxations(
        actor=system_actor(RELAXATIONS),
        plan=RotationPlan.objects.select_related("cooperative").get(id=job.parameters["plan"]),
        now=job.now,
        report=job.report,
    )
    found = plan.relaxations or {}
    return {
        "plan": str(plan.id),
        "with_gain": len(found["gains"]),
        "without_gain": found["without_gain"],
        "not_tried": found["not_tried"],
        "seconds": found["seconds"],
    }


def recompute(job: registry.JobContext) -> dict[str, Any]:
    """A draft for the group; nothing is published by a machine.

    Told between two searches, the run ends there when a later one for its group is due. One
    whose worker died with the draft stored tells of that draft and makes no second one.
    """
    if "plan" in job.remembered:
        return _told_of(RotationPlan.objects.get(id=job.remembered["plan"]))
    lands = list(
        Property.objects.select_related("cooperative")
        .filter(id__in=job.parameters["properties"])
        .order_by("id")
    )

    def report(percent: int, note: str) -> None:
        job.report(percent, note)
        job.stop_if_superseded()

    plan = services.recompute_rotation(
        actor=system_actor(RECOMPUTE),
        lands=lands,
        now=job.now,
        report=report,
        stored=lambda plan: job.remember(plan=str(plan.id)),
    )
    return _told_of(plan)


def _told_of(plan: RotationPlan) -> dict[str, Any]:
    sits = next(level for level in plan.result["levels"] if level["name"] == "sits")
    return {
        "plan": str(plan.id),
        "status": plan.result["status"],
        "requested": plan.result["requested"],
        "sits": sits["value"],
        "sits_at_most": sits["bound"],
        "seconds": plan.result["seconds"],
    }


def nightly(now: datetime) -> Iterable[registry.DueJob]:
    """Once a local night for each group, after three in the morning."""
    for cooperative in Cooperative.objects.all():
        for lands in groups_of(cooperative):
            local = now.astimezone(ZoneInfo(lands[0].time_zone))
            if local.hour >= NIGHTLY_HOUR:
                yield registry.DueJob(
                    name=RECOMPUTE,
                    scope=str(lands[0].id),
                    period=f"{local:%Y-%m-%d}",
                    property_id=lands[0].id,
                    parameters={"properties": [str(land.id) for land in lands]},
                )

"""Plan, show what a plan would change, publish it under locks."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import Problem, WrongOrder
from coop.audit import services as audit_record
from coop.outbox import services as outbox
from properties.land import settings as layered_settings
from properties.land.models import Property
from scheduling.rotation.audit import audit, excesses
from scheduling.rotation.explain import UnmetWish, explain
from scheduling.rotation.gather import Gathered, gather, horizon
from scheduling.rotation.model.solve import solve as solve_with_highs
from scheduling.rotation.models import PlannedSeat, PlanState, RotationPlan
from scheduling.rotation.placing import Difference, Placed, differences, place_seats
from scheduling.rotation.problem import RotationProblem
from scheduling.rotation.result import LevelName, Progress, RotationResult, Told
from scheduling.rotation.settings import RotationSettings
from scheduling.rotation.unmet import kept_wish

PLAN_PUBLISHED = "rotation.published"

Report = Callable[[int, str], None]


class Solve(Protocol):
    def __call__(
        self, problem: RotationProblem, *, time_limit_s: float, seed: int, told: Told
    ) -> RotationResult: ...


class StalePlan(Problem):
    code = "stale_plan"
    title = "What the plan was built from has changed"


class FaultyPlan(Problem):
    code = "faulty_plan"
    title = "The audit found a broken rule"


@dataclass(frozen=True, kw_only=True)
class Published:
    """What publishing did to people's sits."""

    plan: RotationPlan
    placed: Placed


def recompute_rotation(
    *,
    actor: Actor,
    lands: Sequence[Property],
    now: datetime,
    first_on: date | None = None,
    last_on: date | None = None,
    solve: Solve = solve_with_highs,
    report: Report = lambda _percent, _note: None,
    stored: Callable[[RotationPlan], None] = lambda _plan: None,
) -> RotationPlan:
    """A new draft for a group of properties; solved outside any transaction.

    ``stored`` is called in the transaction that stores it. Every seat of the draft passed the
    audit. Raises ``PermissionDenied`` unless the actor may plan on each of the properties.
    """
    for land in lands:
        actor.require(Action.ROTATION_WRITE, land.id)
    report(5, "gathering wishes, fits and history")
    gathered = _gather(lands, first_on, last_on, now)
    report(20, f"{len(gathered.problem.members)} members, {len(gathered.problem.stands)} stands")
    result = solve(
        gathered.problem,
        time_limit_s=gathered.settings.time_limit_s,
        seed=gathered.settings.seed,
        told=_told_to(report),
    )
    _check(gathered.problem, result)
    report(90, "explaining what could not be granted")
    wishes = explain(gathered.problem, result.seats)
    with transaction.atomic():
        plan = _store(actor, lands, gathered, result, wishes, now)
        stored(plan)
    return plan


def _told_to(report: Report) -> Told:
    """Progress in words, from 20 to 90 % as the aims are reached."""
    aims = [name.value for name in LevelName]

    def told(progress: Progress) -> None:
        reached = aims.index(progress.aim) + 1 if progress.aim in aims else 2
        report(
            20 + 70 * reached // len(aims),
            f"{progress.aim.replace('_', ' ')}: {progress.best:g} found, "
            f"at most {progress.bound:g}",
        )

    return told


@transaction.atomic
def publish_plan(*, actor: Actor, plan: RotationPlan, now: datetime) -> Published:
    """Make a draft the plan: its seats become sits, and members are told what changed.

    Locks the properties in the order of their ids, builds the problem afresh and publishes
    only if it still has the draft's fingerprint. Raises :class:`StalePlan`, which also
    marks the draft, and :class:`FaultyPlan`.
    """
    lands = list(
        Property.objects.select_for_update(of=("self",), no_key=True)
        .select_related("cooperative")
        .filter(rotation_plans=plan)
        .order_by("id")
    )
    for land in lands:
        actor.require(Action.ROTATION_WRITE, land.id)
    plan = RotationPlan.objects.select_for_update().get(id=plan.id)
    if plan.state != PlanState.DRAFT:
        raise WrongOrder(f"Only a draft is published; this plan is {plan.state}.")
    gathered = _gather(lands, plan.first_on, plan.last_on, now)
    if gathered.problem.fingerprint() != plan.fingerprint:
        raise StalePlan(
            "Sits, wishes, stands or the forecast changed since the draft was computed; "
            "compute it again.",
        )
    seats = list(plan.seats.select_related("stand", "person", "property").order_by("id"))
    placed = place_seats(actor=actor, plan=plan, seats=seats, gathered=gathered, now=now)
    RotationPlan.objects.filter(
        state=PlanState.PUBLISHED, properties__in=[land.id for land in lands]
    ).update(state=PlanState.SUPERSEDED)
    plan.state = PlanState.PUBLISHED
    plan.published_at = now
    plan.published_by = actor.name
    plan.version += 1
    plan.save()
    _record(actor, plan, lands, now, reason=placed.sentence)
    outbox.publish(topic=PLAN_PUBLISHED, ids={"plan": plan.id}, now=now)
    return Published(plan=plan, placed=placed)


def preview(*, plan: RotationPlan, now: datetime) -> list[Difference]:
    """What publishing a draft now would change, member by member.

    Raises :class:`StalePlan` when it could not be published any more.
    """
    if plan.state in (PlanState.PUBLISHED, PlanState.SUPERSEDED):
        raise WrongOrder(f"Only a draft is previewed; this plan is {plan.state}.")
    lands = list(plan.properties.select_related("cooperative").order_by("id"))
    gathered = _gather(lands, plan.first_on, plan.last_on, now)
    if gathered.problem.fingerprint() != plan.fingerprint:
        raise StalePlan("What the draft was built from has changed; compute it again.")
    return differences(list(plan.seats.all()), gathered)


def mark_stale(*, plan: RotationPlan) -> None:
    """Remember that a draft can no longer be published; outside the failed transaction."""
    RotationPlan.objects.filter(id=plan.id, state=PlanState.DRAFT).update(state=PlanState.STALE)


def _gather(
    lands: Sequence[Property], first_on: date | None, last_on: date | None, now: datetime
) -> Gathered:
    settings = layered_settings.resolve(RotationSettings, lands[0].cooperative.settings)
    first, last = horizon(lands[0], settings=settings, now=now)
    first, last = first_on or first, last_on or last
    if first > last:
        raise ValidationError({"last_on": "The plan's last day lies before its first."})
    return gather(lands=lands, first_on=first, last_on=last, now=now)


def _check(problem: RotationProblem, result: RotationResult) -> None:
    """The audit counts every rule anew; only bookings may clash among themselves."""
    faults = [fault for fault in audit(problem, result.seats) if not fault.only_bookings]
    if faults:
        raise FaultyPlan("; ".join(fault.sentence for fault in faults[:5]))


@transaction.atomic
def _store(
    actor: Actor,
    lands: Sequence[Property],
    gathered: Gathered,
    result: RotationResult,
    wishes: Sequence[UnmetWish],
    now: datetime,
) -> RotationPlan:
    problem = gathered.problem
    plan = RotationPlan.objects.create(
        cooperative=lands[0].cooperative,
        first_on=problem.sessions[0].local_date,
        last_on=problem.sessions[-1].local_date,
        fingerprint=result.fingerprint,
        problem=json.loads(problem.to_json()),
        result=_figures(problem, result),
        explanations=[
            kept_wish(
                problem,
                wish,
                kept_out=gathered.kept_out.get(wish.member_id, ()),
                asked_on=gathered.asked_on.get(wish.member_id, {}),
            )
            for wish in wishes
        ],
        computed_at=now,
    )
    plan.properties.set(lands)
    locked = set(problem.locked)
    PlannedSeat.objects.bulk_create(
        PlannedSeat(
            plan=plan,
            property_id=UUID(problem.stand_by_id[seat.stand_id].property_id),
            stand_id=UUID(seat.stand_id),
            person_id=UUID(seat.member_id),
            local_date=seat.session.local_date,
            kind=seat.session.kind,
            guests=list(seat.guest_ids),
            quality_pct=problem.quality_percent(seat),
            locked=seat in locked,
            continues_morning=problem.continues_morning(seat),
        )
        for seat in result.seats
    )
    _record(actor, plan, lands, now, reason=f"{len(result.seats)} seats, {result.status}")
    return plan


def _figures(problem: RotationProblem, result: RotationResult) -> dict[str, Any]:
    return {
        "status": result.status.value,
        "objective": result.objective.value,
        "blended_score": result.blended_score,
        "blended_bound": result.blended_bound,
        "seconds": round(result.seconds, 3),
        "seed": result.seed,
        "requested": sum(member.sits_requested for member in problem.members),
        "levels": [
            {
                "name": level.name.value,
                "value": level.value,
                "best": level.best,
                "bound": level.bound,
                "gap_pct": round(100 * level.gap, 4),
                "proven": level.is_proven,
            }
            for level in result.levels
        ],
        "booking_conflicts": [conflict.sentence for conflict in result.conflicts],
        "same_wind_excess": [one.sentence for one in excesses(problem, result.seats)],
    }


def _record(
    actor: Actor, plan: RotationPlan, lands: Sequence[Property], now: datetime, *, reason: str
) -> None:
    for land in lands:
        audit_record.record(
            actor=actor,
            action=Action.ROTATION_WRITE,
            target=plan,
            now=now,
            property_id=land.id,
            reason=reason,
        )

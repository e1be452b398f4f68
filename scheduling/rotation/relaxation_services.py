"""What single loosened rules would serve, worked out for a stored plan and kept beside it."""

import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit_record
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.people.models import Person
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.queries import seat_of
from scheduling.rotation.relaxations import Gain, Gains, Target, gains
from scheduling.rotation.serialised import from_json
from scheduling.rotation.settings import RotationSettings

Report = Callable[[int, str], None]


def weigh_relaxations(
    *,
    actor: Actor,
    plan: RotationPlan,
    now: datetime,
    report: Report = lambda _percent, _note: None,
) -> RotationPlan:
    """Try each single relaxation on the plan's own problem and keep what it would serve.

    Solved outside any transaction; the plan itself stays as it is. Raises
    ``PermissionDenied`` unless the actor may plan on each of the plan's properties.
    """
    lands = list(plan.properties.select_related("cooperative").order_by("id"))
    for land in lands:
        actor.require(Action.ROTATION_WRITE, land.id)
    settings = layered_settings.resolve(RotationSettings, plan.cooperative.settings)
    problem = from_json(json.dumps(plan.problem))

    def tried(number: int, of: int) -> None:
        report(5 + 90 * number // max(1, of), f"{number} of {of} relaxations tried")

    found = gains(
        problem,
        [seat_of(row) for row in plan.seats.all()],
        time_limit_s=settings.time_limit_s,
        seed=settings.seed,
        tried=tried,
    )
    return _store(actor, plan, lands, found, now)


@transaction.atomic
def _store(
    actor: Actor, plan: RotationPlan, lands: list[Property], found: Gains, now: datetime
) -> RotationPlan:
    plan = RotationPlan.objects.select_for_update().get(id=plan.id)
    names = _names(lands, found)
    plan.relaxations = {
        "weighed_at": now.isoformat(),
        "seconds": round(found.seconds, 3),
        "without_gain": found.without_gain,
        "not_tried": found.not_tried,
        "gains": [_told(gain, names) for gain in found.gains],
    }
    plan.save(update_fields=["relaxations"])
    for land in lands:
        audit_record.record(
            actor=actor,
            action=Action.ROTATION_WRITE,
            target=plan,
            now=now,
            property_id=land.id,
            reason=f"{len(found.gains)} relaxations that would serve more sits",
        )
    return plan


def _names(lands: list[Property], found: Gains) -> dict[str, str]:
    members = [
        gain.relaxation.target_id for gain in found.gains if gain.relaxation.target is Target.MEMBER
    ]
    people = Person.objects.filter(id__in=members).values_list("id", "name")
    return {str(land.id): land.name for land in lands} | {str(key): name for key, name in people}


def _told(gain: Gain, names: dict[str, str]) -> dict[str, Any]:
    relaxation = gain.relaxation
    sentence = relaxation.sentence
    if relaxation.target_id in names:
        sentence = sentence.replace(relaxation.target_id, names[relaxation.target_id])
    return {
        "code": relaxation.code,
        "target": relaxation.target.value,
        "target_id": relaxation.target_id or None,
        "sentence": sentence,
        "more_sits_at_least": gain.more_sits_at_least,
        "more_sits_at_most": gain.more_sits_at_most,
        "basis": gain.basis.value,
    }

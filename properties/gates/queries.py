"""Gates, parking places and directions that an actor may see; who has read a code."""

from collections.abc import Iterable, Mapping
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action, roles_allowed
from coop.access.scoping import scoped
from coop.audit.models import AuditEvent
from properties.gates.models import DrivingDirections, Gate, GateCode, ParkingPlace


def gates_visible_to(*, actor: Actor, action: Action = Action.GATE_READ) -> QuerySet[Gate]:
    return scoped(Gate.objects.all(), actor=actor, action=action)


def parking_visible_to(
    *, actor: Actor, action: Action = Action.GATE_READ
) -> QuerySet[ParkingPlace]:
    return scoped(ParkingPlace.objects.all(), actor=actor, action=action)


def directions_visible_to(
    *, actor: Actor, action: Action = Action.GATE_READ
) -> QuerySet[DrivingDirections]:
    return scoped(DrivingDirections.objects.all(), actor=actor, action=action)


def codes_holding_on(*, gate_ids: Iterable[UUID], on: date) -> Mapping[UUID, GateCode]:
    """The code of each gate that holds on a property-local date, where one does."""
    rows = GateCode.objects.filter(
        gate__in=list(gate_ids), holds_from__lte=on, replaced_at=None
    ).order_by("holds_from")
    return {row.gate_id: row for row in rows}


def keeper_words(actor: Actor, property_id: UUID) -> str:
    """By which roles somebody may read the codes of a property at any time, in words."""
    roles = actor.roles_on(property_id) & roles_allowed(Action.GATE_CODE_READ)
    return " and ".join(sorted(role.value for role in roles)) or actor.kind.value


def code_readings_of(*, gate: Gate) -> QuerySet[AuditEvent]:
    """Who read which code of a gate and when, the latest first; the append-only record."""
    codes = [str(pk) for pk in gate.codes.values_list("id", flat=True)]
    return AuditEvent.objects.filter(
        object_kind=GateCode._meta.label_lower,
        object_id__in=codes,
        action=Action.GATE_CODE_READ,
    ).order_by("-recorded_at", "-id")

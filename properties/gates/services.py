"""Keep gates, codes, parking and directions; show a code, and keep who saw it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from coop.sealing.seals import seal, unseal
from properties.gates import queries
from properties.gates.models import DrivingDirections, Gate, GateCode, Lock, ParkingPlace
from properties.land.models import Property

PURPOSE = "gate code"
LONGEST_CODE = 40

Row = TypeVar("Row", Gate, ParkingPlace, DrivingDirections)
Standing = TypeVar("Standing", Gate, ParkingPlace)


@dataclass(frozen=True, kw_only=True)
class ShownCode:
    """A code as one reader was shown it; it goes into no log, letter or event."""

    gate: Gate
    holds_from: date
    code: str


@transaction.atomic
def add(*, actor: Actor, row: Row, now: datetime) -> Row:
    """Keep a new gate, parking place or directions; raises ``ValidationError`` by field."""
    actor.require(Action.GATE_WRITE, row.property_id)
    return writing.create(
        row, actor=actor, action=Action.GATE_WRITE, now=now, property_id=row.property_id
    )


@transaction.atomic
def change(*, actor: Actor, row: Row, changes: Mapping[str, Any], now: datetime) -> Row:
    """Change a gate, parking place or directions; raises ``ValidationError`` by field."""
    actor.require(Action.GATE_WRITE, row.property_id)
    return writing.change(
        row, changes, actor=actor, action=Action.GATE_WRITE, now=now, property_id=row.property_id
    )


@transaction.atomic
def retire(*, actor: Actor, row: Standing, now: datetime) -> Standing:
    """It is there no more; twice changes nothing."""
    actor.require(Action.GATE_WRITE, row.property_id)
    if row.retired_at is not None:
        return row
    return writing.change(
        row,
        {"retired_at": now},
        actor=actor,
        action=Action.GATE_WRITE,
        now=now,
        property_id=row.property_id,
    )


@transaction.atomic
def set_code(*, actor: Actor, gate: Gate, code: str, holds_from: date, now: datetime) -> GateCode:
    """Keep the code that opens a gate from a date on; for the same date it replaces the other."""
    actor.require(Action.GATE_WRITE, gate.property_id)
    Gate.objects.select_for_update(no_key=True).get(id=gate.id)
    _check(gate, code)
    for earlier in GateCode.objects.filter(gate=gate, holds_from=holds_from, replaced_at=None):
        _write(actor, earlier, {"replaced_at": now}, now)
    row = GateCode(gate=gate, holds_from=holds_from, entered_by=actor.name[:200])
    row.sealed = seal(code, purpose=PURPOSE, owner=row.id)
    return writing.create(
        row, actor=actor, action=Action.GATE_WRITE, now=now, property_id=gate.property_id
    )


@transaction.atomic
def show_codes(
    *, actor: Actor, land: Property, gates: Iterable[Gate], on: date, why: str, now: datetime
) -> list[ShownCode]:
    """The codes that hold on a date; that this actor saw each is recorded with it.

    For callers that have settled whether the actor may see them. Raises ``CannotOpen``.
    """
    listed = sorted(gates, key=lambda gate: (gate.name, gate.id))
    held = queries.codes_holding_on(gate_ids=[gate.id for gate in listed], on=on)
    shown = []
    for gate in listed:
        row = held.get(gate.id)
        if row is None:
            continue
        text = unseal(row.sealed, purpose=PURPOSE, owner=row.id)
        audit.record(
            actor=actor,
            action=Action.GATE_CODE_READ,
            target=row,
            now=now,
            property_id=land.id,
            reason=why,
        )
        shown.append(ShownCode(gate=gate, holds_from=row.holds_from, code=text))
    return shown


def _write(actor: Actor, row: GateCode, changes: Mapping[str, Any], now: datetime) -> None:
    writing.change(
        row,
        changes,
        actor=actor,
        action=Action.GATE_WRITE,
        now=now,
        property_id=row.gate.property_id,
    )


def _check(gate: Gate, code: str) -> None:
    if gate.retired_at is not None:
        raise ValidationError({"code": "This gate is there no more."})
    if gate.lock != Lock.CODE:
        raise ValidationError({"code": "This gate has no lock with a code."})
    # What was sent is not repeated: a refusal may be kept by whoever got it.
    if not code.strip() or len(code) > LONGEST_CODE or not code.isprintable():
        raise ValidationError({"code": f"Must be 1 to {LONGEST_CODE} printable characters."})

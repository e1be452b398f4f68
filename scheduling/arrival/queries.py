"""What somebody booked is told to get there: the way, parking, gates, the way in by the wind."""

from datetime import datetime
from typing import Any

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from properties.gates.models import DrivingDirections, Gate, Lock, ParkingPlace
from properties.stands.queries import sees_details
from properties.wind.alternatives import alternatives_to
from properties.wind.models import SessionFit
from properties.wind.ways import OtherWay
from scheduling.sits.day_rules import vehicles_by_lease
from scheduling.sits.models import Sit
from scheduling.sits.queries import is_own_sit
from scheduling.sits.uses_queries import sessions_of_sit

_KEEP = "Hand them on to nobody; leave every gate as you found it, unless its note says otherwise."
CODES_NOTICE = (
    "Gate codes are shown on the day of the sit only, to you, and each showing is recorded. "
    f"{_KEEP}"
)
CODES_NOTICE_OF_KEEPER = (
    "Gate codes are shown on the day of the sit only, to whoever sits there or brings a guest, "
    "and to you, who keep the gates; each showing is recorded. "
    f"{_KEEP}"
)
CODES_NOTICE_OF_OTHERS = (
    "You are shown no gate codes. A manager of the property gives them to whoever sits there."
)
CODES_NOTICE_OF_OUTFITTER = (
    "Applications are shown no gate codes. A manager of the property gives them to your client."
)
WAYS_NOTICE = (
    "By the forecast and the property's map. Which way may be walked or driven is for the "
    "property's own rules to say; look before you go."
)


def arrival_of(sit: Sit, *, actor: Actor, now: datetime) -> dict[str, Any]:
    """The sheet without any code; ``sit`` comes with stand, person and property."""
    land = sit.property
    said = DrivingDirections.objects.filter(property=land).first() or DrivingDirections(
        property=land
    )
    knows_person = is_own_sit(actor, sit) or actor.may(Action.PERSON_CONTACT, land.id)
    return {
        "sit": sit.id,
        "property_name": land.name,
        "stand_name": sit.stand.name,
        "local_date": sit.local_date,
        "span": sit.span,
        "directions": said.directions,
        "access_notes": land.access_notes,
        "vehicle_rule": said.vehicle_rule,
        "lease_on_vehicles": vehicles_by_lease(land, on=sit.local_date),
        "vehicle": sit.person.vehicle if knows_person else None,
        "vehicle_missing": said.vehicle_needed and not sit.person.vehicle,
        "parking": ParkingPlace.objects.filter(property=land, retired_at=None).order_by("name"),
        "gates": [
            {"gate": gate, "has_code": gate.lock == Lock.CODE}
            for gate in Gate.objects.filter(property=land, retired_at=None).order_by("name", "id")
        ],
        "codes_notice": _codes_notice(actor, sit),
        "ways": _ways(sit, now) if sees_details(actor=actor, property_id=land.id) else None,
        "ways_notice": WAYS_NOTICE,
    }


def is_of_sit(actor: Actor, sit: Sit) -> bool:
    """Whether somebody sits there themselves, or brings the guest who does."""
    return actor.is_one_of(sit.person_id, sit.host_id)


def _codes_notice(actor: Actor, sit: Sit) -> str:
    """To whom the codes of this sit are shown, as ``gate_codes_of`` shows them."""
    if actor.kind is ActorKind.APPLICATION:
        return CODES_NOTICE_OF_OUTFITTER
    if not actor.may(Action.GATE_CODE_ON_DAY, sit.property_id):
        return CODES_NOTICE_OF_OTHERS
    if is_of_sit(actor, sit):
        return CODES_NOTICE
    if actor.may(Action.GATE_CODE_READ, sit.property_id):
        return CODES_NOTICE_OF_KEEPER
    return CODES_NOTICE_OF_OTHERS


def _ways(sit: Sit, now: datetime) -> list[dict[str, Any]]:
    """For each session the best known way in and out on its wind; None: the stand's own."""
    found = []
    for session in sessions_of_sit(sit):
        row = (
            SessionFit.objects.filter(
                stand=sit.stand_id, local_date=session.local_date, kind=session.kind
            )
            .select_related("stand", "property__cooperative", "issue")
            .first()
        )
        better = alternatives_to(row, now=now).ways if row is not None else ()
        found.append(
            {
                "kind": session.kind,
                "fit": row.fit if row is not None else None,
                "main_reason": row.main_reason if row is not None else "",
                "approach": _best(better, "approach"),
                "exit": _best(better, "exit"),
            }
        )
    return found


def _best(ways: tuple[OtherWay, ...], part: str) -> OtherWay | None:
    return next((way for way in ways if way.part == part), None)

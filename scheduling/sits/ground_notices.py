"""The map or an arc changed: whose booked sit a rule of the ground objects to now is told.

No sit is cancelled by it: a manager decides.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from coop.jobs import registry
from properties.land.models import Property
from properties.land.property_jobs import property_id_of, queue_for
from properties.land.units import UnitSystem
from scheduling.rules.catalogue import objection
from scheduling.rules.refusal import Refusal
from scheduling.sits.ground_objections import as_told, objections_to
from scheduling.sits.models import Sit, SitState
from scheduling.sits.notices import session_words, tell_managers, tell_seat_holder
from scheduling.sits.objection_models import SitObjection

CHECK_GROUND = "sits.check_ground"


@dataclass(frozen=True, kw_only=True)
class Checked:
    """The reconciliation: coming sits looked at, objections found anew, that stay, that ended."""

    looked_at: int = 0
    found: int = 0
    stay: int = 0
    ended: int = 0


def ground_changed(ids: Mapping[str, str], now: datetime) -> None:
    """A changed map or season: coming sits are looked at again, once for many changes."""
    queue_for(UUID(ids["property"]), name=CHECK_GROUND, now=now)


def check_ground_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; what was told stands in rows, so it may run twice or after a crash."""
    done = check_ground(property_id=property_id_of(job), now=job.now)
    return asdict(done)


@transaction.atomic
def check_ground(*, property_id: UUID, now: datetime) -> Checked:
    """Tell each rule of the ground that objects to a coming sit, once until it does no more."""
    # A booking judged by the map before is written under this lock, and then looked at here.
    land = (
        Property.objects.select_for_update(of=("self",), no_key=True)
        .select_related("cooperative")
        .get(id=property_id)
    )
    sits = _coming(land, now)
    objecting = objections_to(land, sits)
    known = list(SitObjection.objects.filter(sit__in=sits, ended_at=None))
    gone = [row for row in known if row.code not in _codes(objecting[row.sit_id])]
    SitObjection.objects.filter(id__in=[row.id for row in gone]).update(ended_at=now)
    told_before = {(row.sit_id, row.code) for row in known}
    found: list[tuple[Sit, SitObjection]] = []
    for sit in sits:
        new = tuple(each for each in objecting[sit.id] if (sit.id, each.code) not in told_before)
        rows = [
            SitObjection.objects.create(sit=sit, code=code, found_at=now) for code in _codes(new)
        ]
        if rows:
            _tell_holder(sit, new, cause=rows[0], now=now)
        found.extend((sit, row) for row in rows)
    if found:
        _tell_managers(land, found, now)
    return Checked(
        looked_at=len(sits), found=len(found), stay=len(known) - len(gone), ended=len(gone)
    )


def _coming(land: Property, now: datetime) -> list[Sit]:
    """Sits that are not over, and whoever is out there."""
    sits = Sit.objects.filter(
        Q(state=SitState.BOOKED, ends_at__gt=now) | Q(state=SitState.CHECKED_IN), property=land
    )
    return list(
        sits.select_related(
            "stand", "person", "host", "outfitter", "property__cooperative"
        ).order_by("starts_at", "id")
    )


def _codes(refusals: Sequence[Refusal]) -> list[str]:
    return list(dict.fromkeys(each.code for each in refusals))


def _tell_holder(sit: Sit, new: tuple[Refusal, ...], *, cause: SitObjection, now: datetime) -> None:
    # An outfitter reads the same letter, and knows no names of the map.
    told = as_told(new, units=UnitSystem(sit.person.units), names_places=sit.outfitter_id is None)
    out = sit.state == SitState.CHECKED_IN
    lines = [
        f"The map or the settings of {sit.property.name} have changed. Its rules now object to "
        f"the sit of {sit.person.name} at {sit.stand.name} in {session_words(sit)}:",
        *(each.sentence for each in told),
        "Talk to your manager before you sit.",
        "You are checked in: call your manager now, and check out when you are down and away."
        if out
        else "Your sit is not cancelled by this: a manager decides, or cancel it yourself.",
    ]
    tell_seat_holder(
        sit,
        once_key=f"sit-objection:{sit.id}:{cause.id}",
        subject=f"Before you sit at {sit.stand.name}, {sit.local_date:%d %b %Y}",
        text="\n\n".join(lines),
        now=now,
        # A matter of safety: nobody who ended other notices goes without it.
        urgent=True,
    )


def _tell_managers(
    land: Property, found: Sequence[tuple[Sit, SitObjection]], now: datetime
) -> None:
    lines = [
        f"{sit.person.name} at {sit.stand.name}, {session_words(sit)}"
        f"{' (checked in)' if sit.state == SitState.CHECKED_IN else ''}: "
        f"{objection(row.code).title}."
        for sit, row in found
    ]
    text = (
        f"The map or the settings of {land.name} have changed. Its rules now object to sits that "
        "are booked:\n\n" + "\n".join(lines) + "\n\nNobody may set these rules aside. Whoever "
        "holds the sits was told to talk to a manager before sitting; whoever is checked in, to "
        "call one now. No sit is cancelled by this: you decide. The sits' briefings say what "
        "objects."
    )
    tell_managers(
        property_id=land.id,
        cooperative_id=land.cooperative_id,
        once_key=f"sit-objections:{found[0][1].id}",
        subject=f"Rules of {land.name} object to booked sits",
        text=text,
        now=now,
        urgent=True,
    )

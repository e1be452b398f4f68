"""A sit that changes its person, its stand or its property stays one sit, in place."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from scheduling.sits.booking_services import claim_seats
from scheduling.sits.calendar_models import FormerHolding
from scheduling.sits.models import SeatClaim, Sit


def change_place(
    *, actor: Actor, sit: Sit, changes: Mapping[str, Any], now: datetime, reason: str = ""
) -> None:
    """Write the changes to a locked sit, claim its seats anew, and remember for the calendars.

    Inside the transaction of whoever judged it under the locks of property and persons. The
    audit record keeps both sides. Raises ``IntegrityError`` where the seat is not free.
    """
    before = FormerHolding(
        sit=sit,
        person_id=sit.person_id,
        property_id=sit.property_id,
        stand_id=sit.stand_id,
        starts_at=sit.starts_at,
        ends_at=sit.ends_at,
        sequence=sit.version + 1,
        ended_at=now,
    )
    SeatClaim.objects.filter(sit=sit).delete()
    writing.change(
        sit,
        changes,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=changes["property"].id if "property" in changes else sit.property_id,
        reason=reason,
    )
    claim_seats(sit)
    if (before.person_id, before.property_id) != (sit.person_id, sit.property_id):
        before.save(force_insert=True)

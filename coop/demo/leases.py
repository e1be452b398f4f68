"""One lease near its end with its rent, and a few regulations: invented, one of them not
confirmed for over a year."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from coop.access.actors import Actor
from coop.demo.scenario import SCENT, Calendar
from properties.land.models import Property
from properties.leases.services import enter_lease, enter_rent
from properties.people.models import Person
from properties.regulations.services import enter_regulation

PAGE = "https://state.example/regulations"
BEGAN_DAYS_AGO = 295
ENDS_IN_DAYS = 69
UNCONFIRMED_DAYS_AGO = 410

_REGULATIONS: tuple[tuple[str, dict[str, Any], int], ...] = (
    ("orange", {"when": "firearm_season", "what": "Hat and vest (invented)."}, 90),
    ("feed", {"permitted": False}, UNCONFIRMED_DAYS_AGO),
    ("scents", {"names": [SCENT]}, 90),
    (
        "disease_area",
        {
            "area": "an invented disease area",
            "carcass_transport": "Head and spine stay in the county (invented).",
        },
        90,
    ),
)


def lease_with_regulations(
    *, actor: Actor, land: Property, landowner: Person, calendar: Calendar
) -> None:
    """Bows and a dozen hunters at once, nobody drives, no feed; half of the rent is paid."""
    lease = enter_lease(
        actor=actor, land=land, fields=_lease(landowner, calendar), now=calendar.now
    )
    for due_in_days, is_paid in ((-BEGAN_DAYS_AGO, True), (20, False)):
        due_on = calendar.day(due_in_days)
        enter_rent(
            actor=actor,
            lease=lease,
            fields={
                "amount": "1800.00",
                "currency": "USD",
                "due_on": due_on,
                "paid_on": due_on if is_paid else None,
            },
            now=calendar.now,
        )
    for kind, value, days_ago in _REGULATIONS:
        enter_regulation(
            actor=actor,
            land=land,
            fields={
                "kind": kind,
                "value": value,
                "first_on": calendar.day(-days_ago),
                "source_url": f"{PAGE}/{kind}",
            },
            now=calendar.now - timedelta(days=days_ago),
        )


def _lease(landowner: Person, calendar: Calendar) -> Mapping[str, Any]:
    return {
        "landowner": landowner,
        "first_on": calendar.day(-BEGAN_DAYS_AGO),
        "last_on": calendar.day(ENDS_IN_DAYS),
        "renewal_notice_on": calendar.day(ENDS_IN_DAYS - 45),
        "insured_until": calendar.day(ENDS_IN_DAYS + 30),
        "people": ["members", "guests", "clients"],
        "most_hunters": 12,
        "weapons": ["bow", "crossbow"],
        "vehicles": False,
        "vehicles_note": "Park at the gate.",
        "feed": False,
    }

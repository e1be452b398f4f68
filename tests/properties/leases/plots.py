"""A lease of the north, as most tests need one."""

from datetime import date
from typing import Any

from properties.leases.models import Lease
from properties.leases.services import enter_lease
from tests.cast import NOW, Cast

TERM = {"first_on": date(2025, 8, 1), "last_on": date(2026, 7, 31)}
EVERYBODY = ["members", "guests", "clients"]


def leased(cast: Cast, **changes: Any) -> Lease:
    fields = {"landowner": cast.landowner, "people": EVERYBODY, **TERM, **changes}
    return enter_lease(
        actor=cast.actor(cast.manager),
        land=changes.pop("land", cast.north),
        fields={name: value for name, value in fields.items() if name != "land"},
        now=NOW,
    )

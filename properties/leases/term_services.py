"""What happens as a lease's dates come near and pass: letters ahead, then the ground closes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.land.models import Closure, Property
from properties.land.services import close_property
from properties.leases.models import Lease
from properties.leases.queries import lease_settings_of, standing_leases
from properties.leases.settings import LeaseSettings
from properties.people.models import Person
from properties.people.queries import holders_of

# No booking reaches farther ahead, and the house rule refuses whatever lies beyond.
CLOSED_DAYS = 366
NO_ADVICE = "What is entered here is a record, not the contract: read what was signed."


@dataclass(frozen=True, kw_only=True)
class Announced:
    """Letters written to somebody for the first time or again; a second one is not sent."""

    letters: int


@transaction.atomic
def close_after_term(*, actor: Actor, land: Property, now: datetime) -> Closure | None:
    """Close a property whose last lease has passed and that no other covers today.

    The closure lasts until a following lease begins; sits in it end and people are told by
    whoever follows ``property.closed``. Run again it closes nothing twice.
    """
    actor.require(Action.CLOSURE_WRITE, land.id)
    land = Property.objects.select_for_update(no_key=True).get(id=land.id)
    today = local_date_on(land, now)
    leases = list(standing_leases(property_id=land.id).select_related("closure"))
    over = [lease for lease in leases if lease.last_on < today]
    if not over or any(lease.first_on <= today <= lease.last_on for lease in leases):
        return None
    lease = max(over, key=lambda row: row.last_on)
    if lease.closure is not None:
        return None
    following = min((row.first_on for row in leases if row.first_on > today), default=None)
    last_on = following - timedelta(days=1) if following else today + timedelta(days=CLOSED_DAYS)
    closure = close_property(
        actor=actor,
        land=land,
        first_on=lease.last_on + timedelta(days=1),
        last_on=last_on,
        reason=f"The lease ended on {lease.last_on:%d %b %Y}",
        now=now,
    )
    writing.change(
        lease,
        {"closure": closure},
        actor=actor,
        action=Action.LEASE_WRITE,
        now=now,
        property_id=land.id,
    )
    _tell(
        lease,
        [*_keepers(land), lease.landowner],
        what="over",
        of=lease.last_on,
        subject=f"{land.name}: the lease is over, the property is closed",
        text=(
            f"The term of the lease of {land.name} ended on {_day(lease.last_on)} and no other "
            "lease covers today. The property is closed: sits after the term are cancelled and "
            "those who held them are told. Enter the following lease to open it again."
        ),
        now=now,
    )
    return closure


@transaction.atomic
def announce(*, actor: Actor, land: Property, now: datetime) -> Announced:
    """Write what is due of the end of terms, notice dates and insurance; each once a reader.

    A new date is announced anew. Of a lease that is over nothing is announced any more.
    """
    actor.require(Action.LEASE_WRITE, land.id)
    settings = lease_settings_of(land)
    today = local_date_on(land, now)
    leases = list(standing_leases(property_id=land.id).select_related("landowner", "property"))
    letters = 0
    for lease in leases:
        if lease.last_on >= today:
            letters += _announce_of(lease, leases, settings, today, now)
    return Announced(letters=letters)


def _announce_of(
    lease: Lease, leases: Sequence[Lease], settings: LeaseSettings, today: date, now: datetime
) -> int:
    land = lease.property
    letters = 0
    if _is_near(lease.last_on, settings.announce_end_days, today) and not _is_followed(
        lease, leases
    ):
        letters += _tell(
            lease,
            [*_keepers(land), lease.landowner],
            what="end",
            of=lease.last_on,
            subject=f"{land.name}: the lease ends on {lease.last_on:%d %b %Y}",
            text=(
                f"The lease of {land.name} ends on {_day(lease.last_on)}, and no following lease "
                "is entered. After that day no sit is booked there; when it has passed the "
                "property is closed, and sits that remain are cancelled."
            ),
            now=now,
        )
    notice = lease.renewal_notice_on
    if notice is not None and _is_near(notice, settings.announce_notice_days, today):
        letters += _tell(
            lease,
            _keepers(land),
            what="notice",
            of=notice,
            subject=f"{land.name}: notice on renewal by {notice:%d %b %Y}",
            text=(
                f"Notice on the renewal of the lease of {land.name} (until {_day(lease.last_on)}) "
                f"is to be given by {_day(notice)}."
            ),
            now=now,
        )
    insured = lease.insured_until
    if insured is not None and insured <= today + timedelta(days=settings.announce_insurance_days):
        letters += _tell(
            lease,
            _keepers(land),
            what="insurance",
            of=insured,
            subject=f"{land.name}: insurance on file until {insured:%d %b %Y}",
            text=(
                f"The insurance on file for the lease of {land.name} runs until {_day(insured)}. "
                "Enter the new date when the new policy is at hand."
            ),
            now=now,
        )
    return letters


def _is_near(on: date, days_ahead: int, today: date) -> bool:
    return today <= on <= today + timedelta(days=days_ahead)


def _is_followed(lease: Lease, leases: Iterable[Lease]) -> bool:
    next_day = lease.last_on + timedelta(days=1)
    return any(other.first_on <= next_day <= other.last_on for other in leases)


def _keepers(land: Property) -> list[Person]:
    """Whoever keeps the leases of a property: its managers and its coordinators."""
    return [
        person
        for role in (Role.MANAGER, Role.COORDINATOR)
        for person in holders_of(role=role, property_id=land.id).order_by("id")
    ]


def _tell(
    lease: Lease,
    people: Iterable[Person],
    *,
    what: str,
    of: date,
    subject: str,
    text: str,
    now: datetime,
) -> int:
    addresses = sorted({person.email for person in people if person.email})
    for address in addresses:
        outbox.write_message(
            once_key=f"lease:{what}:{lease.id}:{of}:{address}"[:200],
            recipient=address,
            subject=subject,
            text=f"{text}\n\n{NO_ADVICE}",
            cooperative_id=lease.property.cooperative_id,
            now=now,
        )
    return len(addresses)


def _day(on: date) -> str:
    return f"{on:%A %d %B %Y}"

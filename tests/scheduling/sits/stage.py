"""A property on which nothing objects to a sit: season, stands far apart, fits that suit.

``DAY`` is a Saturday a week after the cast's ``NOW``; both stands of the stage suit it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from coop.outbox import services as outbox
from properties.people.models import Paper, Person
from properties.sessions.kinds import SessionKind
from properties.sessions.models import Season
from properties.stands.models import Stand
from properties.wind.models import SessionFit
from scheduling.sits.booking_services import book_for_client, book_sit
from scheduling.sits.life_services import check_in, check_out
from scheduling.sits.models import Sit
from tests.cast import NOW, Cast, make_member, make_stand

DAY = date(2025, 11, 8)
EAST_WIND = [0, 0, 1000, 0, 0, 0, 0, 0]
KINDS = (SessionKind.MORNING, SessionKind.EVENING)
CLIENT = {
    "reference": "C-1",
    "name": "Clio Client",
    "email": "",
    "phone": "",
    "emergency_contact_name": "Kin",
    "emergency_contact_phone": "555-0100",
    "papers": [{"kind": kind} for kind in ("licence", "hunter_education", "waiver")],
}
"""Whom an outfitter books a sit for, with all the papers that a property asks for."""


@dataclass(frozen=True, kw_only=True)
class Stage:
    """The cast on its ground: two stands in the north, one in the south, a second member."""

    cast: Cast
    oak: Stand
    creek: Stand
    far: Stand
    ben: Person


def make_stage(cast: Cast) -> Stage:
    for land in (cast.north, cast.south):
        Season.objects.create(
            property=land,
            name="Bow",
            first_on=date(2025, 10, 1),
            last_on=date(2026, 1, 31),
            weapons=["bow", "crossbow"],
        )
    oak = make_stand(cast.north, "Oak", capacity=2)
    # Farther apart than a bow endangers by the default settings (400 m).
    creek = make_stand(cast.north, "Creek", latitude=cast.north.latitude + 0.006)
    far = make_stand(cast.south, "Far")
    for stand in (oak, creek, far):
        give_fits(stand)
    return Stage(
        cast=cast,
        oak=oak,
        creek=creek,
        far=far,
        ben=make_member(cast.cooperative, "Ben Second", cast.north),
    )


def days_around(day: date = DAY, *, before: int = 3, after: int = 10) -> Iterable[date]:
    return (day + timedelta(days=offset) for offset in range(-before, after + 1))


def give_fits(stand: Stand, days: Iterable[date] | None = None, **changes: Any) -> None:
    """A stored fit for each session of the days, good unless changed."""
    suits: dict[str, Any] = {
        "fit": 0.9,
        "worst_place": 0.1,
        "fits": True,
        "verdict": "fit",
        "sector_per_mille": EAST_WIND,
        "gust_mps": 4.0,
        "main_reason": "No mapped place that holds deer lies where scent is likely to go.",
        "fingerprint": "test",
        "computed_at": NOW,
        "detail": {},
    }
    days = list(days or days_around())
    SessionFit.objects.filter(stand=stand, local_date__in=days).delete()
    SessionFit.objects.bulk_create(
        SessionFit(
            property_id=stand.property_id,
            stand=stand,
            local_date=day,
            kind=kind.value,
            **{**suits, **changes},
        )
        for day in days
        for kind in KINDS
    )


def make_guest(host: Person, name: str = "Gus Guest", *, papers: bool = True) -> Person:
    guest = Person.objects.create(
        cooperative=host.cooperative,
        name=name,
        host=host,
        emergency_contact_name="Kin of guest",
        emergency_contact_phone="555-0198",
    )
    for kind in ("licence", "waiver") if papers else ():
        Paper.objects.create(person=guest, kind=kind, expires_on=date(2026, 12, 31))
    return guest


def booked(
    stage: Stage,
    person: Person | None = None,
    stand: Stand | None = None,
    *,
    day: date = DAY,
    span: str = "evening",
    now: datetime = NOW,
    **more: Any,
) -> Sit:
    person = person or stage.cast.member
    return book_sit(
        actor=stage.cast.actor(person),
        stand=stand or stage.oak,
        local_date=day,
        span=span,
        now=now,
        **more,
    )


def booked_for_client(stage: Stage, stand: Stand | None = None, *, day: date = DAY) -> Sit:
    """The evening that the cast's outfitter books for a client: at the creek, unless told."""
    return book_for_client(
        actor=stage.cast.application(),
        stand=stand or stage.creek,
        local_date=day,
        span="evening",
        client=CLIENT,
        now=NOW,
    )


def sat(stage: Stage, sit: Sit, person: Person | None = None) -> Sit:
    """The sit checked in at its start and out an hour before its end."""
    actor = stage.cast.actor(person or sit.person)
    check_in(actor=actor, sit=sit, now=sit.starts_at)
    return check_out(actor=actor, sit=sit, now=sit.ends_at - timedelta(hours=1))


def codes_of(problem: Any) -> list[str]:
    return [refusal["code"] for refusal in problem.members["refusals"]]


def facts_handled(now: datetime = NOW) -> None:
    """Hand every waiting fact to the rooms that follow it."""
    outbox.drain(now=now)

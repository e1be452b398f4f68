"""The ground of the benchmark of lists: a wide property full of rows, and one with offers."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.utils import timezone

from coop.access.models import PersonalToken
from coop.access.roles import Role
from properties.people.models import Person
from properties.sessions.models import Season
from properties.stands.models import Stand
from scheduling.sits.calendar_services import replace_feed
from scheduling.sits.models import Sit
from tests.cast import grant, make_cast, make_property, make_stand
from tests.scheduling.sits.stage import give_fits

SECTORS = [0, 0, 1000, 0, 0, 0, 0, 0]


@dataclass(frozen=True, kw_only=True)
class Ground:
    """Ids of the properties; ``feeds`` is a calendar's secret by how many events it has."""

    token: str
    wide: UUID
    small: UUID
    nowhere: UUID
    feeds: dict[int, str]


def make_ground(*, rows: int, offered_stands: int, offered_days: int) -> Ground:
    cast = make_cast()
    small = make_property(cast.cooperative, "Small", -91.60, 43.20)
    brief = make_property(cast.cooperative, "Brief", -91.70, 43.20)
    for land in (small, brief):
        grant(cast.manager, Role.MANAGER, land)
    people = [cast.member, cast.other_member, cast.manager]
    stands = _stands(cast.north, rows)
    _sits(stands, people, per_stand=1)
    _sits(_stands(brief, 10), people, per_stand=10)
    Season.objects.create(
        property=small,
        name="Bow",
        first_on=date(2025, 10, 1),
        last_on=date(2026, 1, 31),
        weapons=["bow"],
    )
    first_on = date(2025, 11, 2)
    days = [first_on + timedelta(days=number) for number in range(-1, offered_days + 1)]
    for number in range(offered_stands):
        stand = make_stand(
            small, f"Stand {number}", latitude=small.latitude - 0.008 + number * 4e-4
        )
        give_fits(stand, days)
    actor = cast.actor(cast.manager)
    return Ground(
        token=PersonalToken.objects.create(user=cast.manager.user)[1],
        wide=cast.north.id,
        small=small.id,
        nowhere=uuid4(),
        feeds={
            rows: replace_feed(actor=actor, land=cast.north, now=timezone.now())[1],
            100: replace_feed(actor=actor, land=brief, now=timezone.now())[1],
        },
    )


def _stands(land: Any, count: int) -> list[Stand]:
    """Half of them with a mapped way of 12 places."""
    way = [[land.longitude + number * 1e-4, land.latitude] for number in range(12)]
    return Stand.objects.bulk_create(
        Stand(
            property=land,
            name=f"Stand {number:04d}",
            kind="ladder",
            longitude=land.longitude + number * 1e-6,
            latitude=land.latitude,
            seat_height_m=4.8,
            shot_distance_m=27.0,
            last_inspected_on=date(2025, 8, 15),
            approach_route={"type": "LineString", "coordinates": way} if number % 2 else None,
            notes="Climb from the north side; three points of contact.",
        )
        for number in range(count)
    )


def _sits(stands: list[Stand], people: list[Person], *, per_stand: int) -> None:
    now = timezone.now()
    Sit.objects.bulk_create(
        Sit(
            property_id=stand.property_id,
            stand=stand,
            person=people[number % len(people)],
            local_date=date(2025, 11, 3) + timedelta(days=number % 60),
            span="evening",
            starts_at=now + timedelta(days=number % 60 + 1),
            ends_at=now + timedelta(days=number % 60 + 1, hours=4),
            weapon="bow",
            fit=0.87,
            sector_per_mille=SECTORS,
        )
        for number, stand in enumerate(stand for stand in stands for _ in range(per_stand))
    )

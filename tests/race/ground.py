"""The ground of a race: seats, members with tokens, fits; emptied of sits between rounds.

Everything is dated from today, since the server's clock is the real one.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from coop.access.models import PersonalToken
from coop.api.models import IdempotentAnswer
from properties.people.models import Paper
from properties.sessions.models import Season
from properties.stands.models import Stand
from scheduling.sits.models import SeatClaim, Sit
from tests.cast import make_cast, make_member, make_stand
from tests.scheduling.sits.stage import give_fits

SEATS_A_STAND = 10
DAYS = 14
APART_DEG = 0.006  # farther than a bow endangers by the default settings (400 m)


@dataclass(frozen=True, kw_only=True)
class Ground:
    """``stands`` hold the seats raced for; ``single`` has one seat and rests after a use."""

    stands: tuple[Stand, ...]
    single: Stand
    tokens: tuple[str, ...]
    today: date


def prepare(*, members: int, seats: int) -> Ground:
    cast = make_cast()
    land = cast.north
    today = timezone.now().astimezone(ZoneInfo(land.time_zone)).date()
    Season.objects.create(
        property=land,
        name="Race",
        first_on=today - timedelta(days=30),
        last_on=today + timedelta(days=60),
        weapons=["bow"],
    )
    capacities = [min(SEATS_A_STAND, seats - taken) for taken in range(0, seats, SEATS_A_STAND)]
    stands = tuple(
        make_stand(
            land,
            f"Stand {number}",
            capacity=capacity,
            latitude=land.latitude - APART_DEG / 2 + number * APART_DEG,
            last_inspected_on=today - timedelta(days=10),
        )
        for number, capacity in enumerate(capacities)
    )
    single = make_stand(
        land,
        "Single",
        longitude=land.longitude + APART_DEG,
        last_inspected_on=today - timedelta(days=10),
    )
    for stand in (*stands, single):
        give_fits(stand, [today + timedelta(days=day) for day in range(DAYS + 1)])
    people = [
        make_member(cast.cooperative, f"Racer {number:03d}", land) for number in range(members)
    ]
    Paper.objects.update(expires_on=today + timedelta(days=365))
    tokens = tuple(PersonalToken.objects.create(user=person.user)[1] for person in people)
    return Ground(stands=stands, single=single, tokens=tokens, today=today)


def clear() -> None:
    """No sits, no kept answers: the next round begins with every seat free."""
    SeatClaim.objects.all().delete()
    Sit.objects.all().delete()
    IdempotentAnswer.objects.all().delete()

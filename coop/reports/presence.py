"""Who was on the land and when, and the sits of each day."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from coop.reports.periods import Period
from coop.reports.rows import PRESENT, MonthRows, SitRow, WorkRow

SESSIONS_OF = {"morning": ("morning",), "evening": ("evening",), "all_day": ("morning", "evening")}


@dataclass(frozen=True, kw_only=True)
class Presence:
    """One person's stay on one day: ``what`` is a span of a sit, or ``work``."""

    person: str
    standing: str
    through: str
    on: date
    what: str
    came_at: datetime | None
    left_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class PersonOnLand:
    """One person's month: days of sits as (date, span), and days of work only.

    ``vehicle`` is what stood parked for them, as far as anybody entered it.
    """

    person: str
    standing: str
    through: str
    sits: tuple[tuple[date, str], ...]
    work_days: tuple[date, ...]
    vehicle: str = ""


@dataclass(frozen=True, kw_only=True)
class WhoWasThere:
    presences: tuple[Presence, ...]
    people: tuple[PersonOnLand, ...]
    sits: int
    guests_and_clients: int
    days: int
    without_check_in: int
    still_to_come: int


@dataclass(frozen=True, kw_only=True)
class CalendarDay:
    """Sits by session of one day; ``open`` is false on a day on which the land was closed."""

    on: date
    morning: int
    evening: int
    open: bool
    known: bool


def who_was_there(rows: MonthRows, period: Period) -> WhoWasThere:
    """Everybody on record: who checked in to a sit, and who did work."""
    sits = [row for row in rows.sits if row.state in PRESENT]
    booked = [row for row in rows.sits if row.state not in PRESENT]
    presences = [_presence(row) for row in sits] + _work_presences(rows.work)
    presences.sort(key=lambda presence: (presence.on, presence.person, presence.what))
    return WhoWasThere(
        presences=tuple(presences),
        people=_people(presences, rows.vehicles),
        sits=len(sits),
        guests_and_clients=len({row.person for row in sits if row.standing != "member"}),
        days=len({presence.on for presence in presences}),
        without_check_in=sum(_is_over(row, rows.now, period) for row in booked),
        still_to_come=sum(not _is_over(row, rows.now, period) for row in booked),
    )


def _is_over(row: SitRow, now: datetime, period: Period) -> bool:
    return row.local_date < now.astimezone(period.zone).date()


def _presence(row: SitRow) -> Presence:
    return Presence(
        person=row.person,
        standing=row.standing,
        through=row.through,
        on=row.local_date,
        what=row.span,
        came_at=row.came_at,
        left_at=row.left_at,
    )


def _work_presences(work: Iterable[WorkRow]) -> list[Presence]:
    seen = {(row.person, row.local_date) for row in work if row.person}
    return [
        Presence(
            person=person,
            standing="member",
            through="",
            on=on,
            what="work",
            came_at=None,
            left_at=None,
        )
        for person, on in seen
    ]


def _people(presences: Iterable[Presence], vehicles: Mapping[str, str]) -> tuple[PersonOnLand, ...]:
    """Each person once for each standing, members first, whoever came most before the rest."""
    of: dict[tuple[str, str, str], list[Presence]] = defaultdict(list)
    for presence in presences:
        of[presence.person, presence.standing, presence.through].append(presence)
    people = [
        PersonOnLand(
            person=person,
            standing=standing,
            through=through,
            sits=tuple((stay.on, stay.what) for stay in stays if stay.what != "work"),
            work_days=tuple(stay.on for stay in stays if stay.what == "work"),
            vehicle=vehicles.get(person, ""),
        )
        for (person, standing, through), stays in of.items()
    ]
    people.sort(key=lambda one: (one.standing != "member", -len(one.sits), one.person))
    return tuple(people)


def sits_calendar(rows: MonthRows, period: Period) -> tuple[CalendarDay, ...]:
    """Every day of the month with its sits by session."""
    counts = Counter(
        (row.local_date, session)
        for row in rows.sits
        if row.state in PRESENT
        for session in SESSIONS_OF[row.span]
    )
    today = rows.now.astimezone(period.zone).date()
    days = (period.last_on - period.first_on).days + 1
    dates = [period.first_on + timedelta(days=offset) for offset in range(days)]
    return tuple(
        CalendarDay(
            on=on,
            morning=counts[on, "morning"],
            evening=counts[on, "evening"],
            open=not any(row.whole and row.first_on <= on <= row.last_on for row in rows.closures),
            known=on <= today,
        )
        for on in dates
    )

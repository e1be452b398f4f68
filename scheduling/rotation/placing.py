"""A published plan's seats as sits: kept, moved in place, added, withdrawn."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple
from uuid import UUID

from coop.access.actors import Actor
from coop.outbox import services as outbox
from properties.people.models import Person
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.windows import SessionWindow
from properties.wind.models import SessionFit
from scheduling.rotation.candidates import other_half
from scheduling.rotation.gather import Gathered
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.problem import Seat
from scheduling.sits.booking_services import place_sit
from scheduling.sits.handing_over import change_place
from scheduling.sits.harvest_place_services import settle_all
from scheduling.sits.life_services import SIT_CHANGED, publish_fact, release
from scheduling.sits.models import SeatClaim, Sit, SitOrigin, SitSpan
from scheduling.sits.uses_queries import sessions_of_sit

WITHDRAWN = "A new rotation plan was published."


@dataclass(frozen=True, kw_only=True)
class Placed:
    """What publishing did: sits kept as they were, moved to another stand, added, withdrawn."""

    kept: int
    moved: int
    added: int
    withdrawn: int

    @property
    def sentence(self) -> str:
        return (
            f"{self.kept} sits kept, {self.moved} moved, {self.added} added, "
            f"{self.withdrawn} withdrawn"
        )


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One member's sits that publishing a draft would add and take away."""

    member_id: str
    added: tuple[Seat, ...]
    removed: tuple[Seat, ...]


class _Place(NamedTuple):
    """Where and how long: an all-day sit stands under its morning."""

    seat: Seat
    span: SitSpan

    @property
    def day(self) -> date:
        return self.seat.session.local_date


_Rows = list[PlannedSeat]
"""The rows of one sit: its session, or morning and evening."""


@dataclass
class _News:
    """What one member is told: a line for each sit that changed."""

    person: Person
    lines: list[str] = field(default_factory=list)


def place_seats(
    *,
    actor: Actor,
    plan: RotationPlan,
    seats: Sequence[PlannedSeat],
    gathered: Gathered,
    now: datetime,
) -> Placed:
    """Write the plan's sits inside the caller's transaction, which holds the properties' locks.

    A member's sit of the same span of the same day is moved in place, so that its calendar
    entry stays.
    """
    wanted = _wanted(seats)
    standing = {_place(sit): sit for sit in gathered.movable.values()}
    kept = wanted.keys() & standing.keys()
    free = {place: sit for place, sit in standing.items() if place not in kept}
    by_time = {(place.seat.member_id, place.day, place.span): place for place in free}
    news: dict[UUID, _News] = {}
    moves = {
        place: by_time[place.seat.member_id, place.day, place.span]
        for place in wanted.keys() - kept
        if (place.seat.member_id, place.day, place.span) in by_time
    }
    gone = free.keys() - set(moves.values())
    # Seats are given back before any is taken: two members may change places.
    for place in sorted(gone, key=_order):
        _withdraw(actor, free[place], news, now)
    SeatClaim.objects.filter(sit__in=[free[old] for old in moves.values()]).delete()
    for place, old in sorted(moves.items(), key=lambda pair: _order(pair[0])):
        _move(actor, free[old], wanted[place], plan, gathered, news, now)
    added = wanted.keys() - kept - moves.keys()
    for place in sorted(added, key=_order):
        _add(actor, wanted[place], plan, gathered, news, now)
    for place in kept:
        _remember(wanted[place], standing[place])
    settle_all({row.property_id for row in seats}, now=now)
    _tell(plan, news, now)
    return Placed(kept=len(kept), moved=len(moves), added=len(added), withdrawn=len(gone))


def _seat(row: PlannedSeat) -> Seat:
    session = SessionKey(row.local_date, SessionKind(row.kind))
    return Seat(str(row.person_id), str(row.stand_id), session)


def _wanted(seats: Sequence[PlannedSeat]) -> dict[_Place, _Rows]:
    rows = [row for row in seats if not row.locked]
    evenings = {_seat(row): row for row in rows if row.continues_morning}
    found: dict[_Place, _Rows] = {}
    for row in rows:
        if row.continues_morning:
            continue
        seat = _seat(row)
        evening = evenings.get(other_half(seat))
        if evening is None:
            found[_Place(seat, SitSpan(row.kind))] = [row]
        else:
            found[_Place(seat, SitSpan.ALL_DAY)] = [row, evening]
    return found


def _place(sit: Sit) -> _Place:
    seat = Seat(str(sit.person_id), str(sit.stand_id), sessions_of_sit(sit)[0])
    return _Place(seat, SitSpan(sit.span))


def _order(place: _Place) -> tuple[tuple[int, str, str], str]:
    return (place.seat.sort_key, place.span)


def _remember(rows: _Rows, sit: Sit) -> None:
    PlannedSeat.objects.filter(id__in=[row.id for row in rows]).update(sit_id=sit.id)


def _withdraw(actor: Actor, sit: Sit, news: dict[UUID, _News], now: datetime) -> None:
    release(actor=actor, sit=sit, reason=WITHDRAWN, now=now)
    _line(news, sit.person, f"{_when(sit)}: {sit.stand.name} is withdrawn.")


def _move(
    actor: Actor,
    sit: Sit,
    rows: _Rows,
    plan: RotationPlan,
    gathered: Gathered,
    news: dict[UUID, _News],
    now: datetime,
) -> None:
    before, row = sit.stand.name, rows[0]
    changes = {
        "stand": row.stand,
        "property": row.property,
        "origin_plan_id": plan.id,
        **_window(rows, gathered),
        **_known(row, gathered),
    }
    change_place(actor=actor, sit=sit, changes=changes, now=now)
    publish_fact(topic=SIT_CHANGED, sit=sit, now=now)
    _remember(rows, sit)
    _line(news, row.person, f"{_when(sit)}: {row.stand.name} instead of {before}.")


def _add(
    actor: Actor,
    rows: _Rows,
    plan: RotationPlan,
    gathered: Gathered,
    news: dict[UUID, _News],
    now: datetime,
) -> None:
    row = rows[0]
    sit = Sit(
        property=row.property,
        stand=row.stand,
        person=row.person,
        local_date=row.local_date,
        span=SitSpan.ALL_DAY if len(rows) > 1 else SitSpan(row.kind),
        origin=SitOrigin.ROTATION,
        origin_plan_id=plan.id,
        **_window(rows, gathered),
        **_known(row, gathered),
    )
    place_sit(actor=actor, sit=sit, now=now)
    _remember(rows, sit)
    _line(news, row.person, f"{_when(sit)}: {row.stand.name} on {row.property.name}.")


def _window(rows: _Rows, gathered: Gathered) -> dict[str, datetime]:
    windows = [
        gathered.facts.windows[row.property_id, SessionKey(row.local_date, SessionKind(row.kind))]
        for row in rows
    ]
    # A session that the sun does not give has no outlook, so no plan holds a seat in it.
    first, last = windows[0], windows[-1]
    assert isinstance(first, SessionWindow)
    assert isinstance(last, SessionWindow)
    return {"starts_at": first.approach_from, "ends_at": last.exit_until}


def _known(row: PlannedSeat, gathered: Gathered) -> dict[str, object]:
    session = SessionKey(row.local_date, SessionKind(row.kind))
    found: SessionFit | None = gathered.facts.fits.get((row.stand_id, session))
    if found is None:
        return {}
    return {
        "fit": found.fit,
        "sector_per_mille": found.sector_per_mille,
        "issue_id": found.issue_id,
    }


def _when(sit: Sit) -> str:
    return f"{sit.local_date:%a %d %b}, {sit.span}"


def _line(news: dict[UUID, _News], person: Person, line: str) -> None:
    news.setdefault(person.id, _News(person=person)).lines.append(line)


def _tell(plan: RotationPlan, news: dict[UUID, _News], now: datetime) -> None:
    """One message a member, with what changed and why; nobody is told of no change."""
    for person_id, found in news.items():
        if not found.person.email:
            continue
        lines = "\n".join(f"- {line}" for line in sorted(found.lines))
        outbox.write_message(
            once_key=f"rotation:{plan.id}:{person_id}",
            recipient=found.person.email,
            subject=f"Your sits from {plan.first_on:%d %b} to {plan.last_on:%d %b}",
            text=(
                "A rotation plan was published, from the wishes, the latest forecast and what "
                f"the stands have borne.\n\n{lines}\n\n"
                "A plan says what the property's settings allow. It says nothing about what is "
                "lawful or safe: check your state's regulations, wear your harness, and tell "
                "somebody where you sit."
            ),
            cooperative_id=plan.cooperative_id,
            now=now,
        )


def differences(seats: Sequence[PlannedSeat], gathered: Gathered) -> list[Difference]:
    """What publishing would change, member by member; nobody whose sits stay is listed."""
    wanted = {_seat(row) for row in seats if not row.locked}
    standing = set(gathered.movable)
    added, removed = wanted - standing, standing - wanted
    return [
        Difference(
            member_id=member_id,
            added=tuple(_of_member(member_id, added)),
            removed=tuple(_of_member(member_id, removed)),
        )
        for member_id in sorted({seat.member_id for seat in added | removed})
    ]


def _of_member(member_id: str, seats: set[Seat]) -> list[Seat]:
    own = [seat for seat in seats if seat.member_id == member_id]
    return sorted(own, key=lambda seat: seat.sort_key)

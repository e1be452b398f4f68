"""A published plan's seats as sits: kept, moved in place, added, withdrawn."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from coop.access.actors import Actor
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.windows import SessionWindow
from scheduling.rotation.candidates import other_half
from scheduling.rotation.gather import Gathered
from scheduling.rotation.gather_parties import Party
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.placed_parties import WITHDRAWN, PartyWriter
from scheduling.rotation.plan_letters import News
from scheduling.rotation.problem import Seat
from scheduling.rotation.queries import seat_of
from scheduling.sits.harvest_place_services import settle_all
from scheduling.sits.models import SeatClaim, SitSpan


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
    """Where, with whom and how long: an all-day sit stands under its morning."""

    seat: Seat
    span: SitSpan

    @property
    def day(self) -> date:
        return self.seat.session.local_date

    @property
    def time(self) -> tuple[str, date, SitSpan]:
        return (self.seat.member_id, self.day, self.span)


_Rows = list[PlannedSeat]
"""The rows of one sit: its session, or morning and evening."""


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
    entry stays; so are those of guests who still come along.
    """
    wanted = _wanted(seats)
    standing = {_place(party): party for party in gathered.movable.values()}
    kept = wanted.keys() & standing.keys()
    free = {place: party for place, party in standing.items() if place not in kept}
    by_time = {place.time: place for place in free}
    moves = {
        place: free[by_time[place.time]] for place in wanted.keys() - kept if place.time in by_time
    }
    gone = free.keys() - {_place(party) for party in moves.values()}
    added = wanted.keys() - kept - moves.keys()
    news = News()
    writer = PartyWriter.of(actor=actor, plan=plan, rows=seats, news=news, now=now)
    # Seats are given back before any is taken: two members may change places, and a guest may
    # come with another host.
    for place in _in_order(gone):
        writer.withdraw(free[place].everybody, reason=WITHDRAWN)
    for place in _in_order(moves):
        writer.part_from(moves[place], staying=place.seat.guest_ids)
    moving = [sit for party in moves.values() for sit in party.everybody]
    SeatClaim.objects.filter(sit__in=moving).delete()
    for place in _in_order(moves):
        rows = wanted[place]
        writer.move(moves[place], rows, _columns(rows, gathered), _has_youth(place, gathered))
    for place in _in_order(added):
        rows = wanted[place]
        writer.add(rows, place.span, _columns(rows, gathered), _has_youth(place, gathered))
    for place in kept:
        writer.remember(wanted[place], standing[place].sit)
    settle_all({row.property_id for row in seats}, now=now)
    news.tell(plan, now=now)
    return Placed(kept=len(kept), moved=len(moves), added=len(added), withdrawn=len(gone))


def _wanted(seats: Sequence[PlannedSeat]) -> dict[_Place, _Rows]:
    rows = [row for row in seats if not row.locked]
    evenings = {seat_of(row): row for row in rows if row.continues_morning}
    found: dict[_Place, _Rows] = {}
    for row in rows:
        if row.continues_morning:
            continue
        seat = seat_of(row)
        evening = evenings.get(other_half(seat))
        if evening is None:
            found[_Place(seat, SitSpan(row.kind))] = [row]
        else:
            found[_Place(seat, SitSpan.ALL_DAY)] = [row, evening]
    return found


def _place(party: Party) -> _Place:
    return _Place(party.seats[0], SitSpan(party.sit.span))


def _in_order(places: Iterable[_Place]) -> list[_Place]:
    return sorted(places, key=lambda place: (place.seat.sort_key, place.span))


def _has_youth(place: _Place, gathered: Gathered) -> bool:
    """Whether the party's adult supervises a young hunter that day."""
    people = gathered.facts.booking
    return any(people.member(guest).is_youth_on(place.day) for guest in place.seat.guest_ids)


def _columns(rows: _Rows, gathered: Gathered) -> dict[str, object]:
    """The window of a sit, and what is known of its wind now."""
    windows = [
        gathered.facts.windows[row.property_id, SessionKey(row.local_date, SessionKind(row.kind))]
        for row in rows
    ]
    # A session that the sun does not give has no outlook, so no plan holds a seat in it.
    first, last = windows[0], windows[-1]
    assert isinstance(first, SessionWindow)
    assert isinstance(last, SessionWindow)
    window = {"starts_at": first.approach_from, "ends_at": last.exit_until}
    session = SessionKey(rows[0].local_date, SessionKind(rows[0].kind))
    found = gathered.facts.fits.get((rows[0].stand_id, session))
    if found is None:
        return {**window}
    return {
        **window,
        "fit": found.fit,
        "sector_per_mille": found.sector_per_mille,
        "issue_id": found.issue_id,
    }


def differences(seats: Sequence[PlannedSeat], gathered: Gathered) -> list[Difference]:
    """What publishing would change, member by member; nobody whose sits stay is listed."""
    wanted = {seat_of(row) for row in seats if not row.locked}
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

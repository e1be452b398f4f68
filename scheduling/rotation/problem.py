"""The planning problem as data: frozen, checked when built, people as opaque ids.

Everything a plan depends on is here, so that a problem can be saved, solved again and
attached to a fault report. Order within a problem never matters: every list is kept in a
canonical order, and :meth:`RotationProblem.fingerprint` sees only what is said.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from functools import cached_property
from typing import Any

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules.uses import Use

from .checks import faults_of
from .wishes import PlanAsk, PlanGuest, PlanMember, PlanWish, Seat

__all__ = [
    "EXCESS_STEP_PER_MILLE",
    "Exclusion",
    "InvalidProblem",
    "Outlook",
    "PlanAsk",
    "PlanGuest",
    "PlanMember",
    "PlanProperty",
    "PlanStand",
    "PlanWish",
    "RotationProblem",
    "Seat",
]

# Uses beyond a soft same-wind cap are counted in begun halves of a use.
EXCESS_STEP_PER_MILLE = 500


class InvalidProblem(ValueError):
    """A problem that contradicts itself; the message lists everything found."""


@dataclass(frozen=True, kw_only=True)
class PlanStand:
    """A stand: places, days of rest, and its own quality in percent of an ordinary one.

    Its same-wind cap is soft by ``same_wind_excess`` uses: so many more may be planned, each
    begun half at the problem's ``excess_price``. 0: the cap is hard.
    """

    id: str
    property_id: str
    capacity: int = 1
    rest_days: int = 1
    quality_percent: int = 100
    same_wind_excess: int = 0
    name: str = ""

    @property
    def shown_name(self) -> str:
        return self.name or self.id


@dataclass(frozen=True, kw_only=True)
class PlanProperty:
    """A property; ``hunters_a_session``, ``uses_a_week`` and the caps of guests None set no cap.

    ``guest_sits_a_host`` and ``guest_sits_a_property`` cap guests' sits in a season's year, which
    begins in ``year_first_month``. ``guest_sits_held`` are those outside the plan: the calendar
    year in which the season's year begins, the host, the sits.
    """

    id: str
    hunters_a_session: int | None = None
    uses_a_week: int | None = None
    guest_sits_a_host: int | None = None
    guest_sits_a_property: int | None = None
    guest_sits_held: tuple[tuple[int, str, int], ...] = ()
    year_first_month: int = 7


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What the forecast says of one stand in one session.

    ``share_percent`` is how much a seat counts toward its member's share, against 100 for
    an ordinary day. ``closed_because`` is a sentence where a rule closes the stand whoever asks,
    in metric units, and ``closed_because_us`` the same in US ones where it reads otherwise;
    ``is_dark_day``: nothing but the property's own dark day does.
    """

    stand_id: str
    session: SessionKey
    fit_percent: int
    sector_per_mille: tuple[int, ...]
    share_percent: int = 100
    closed_because: str = ""
    closed_because_us: str = ""
    is_dark_day: bool = False


@dataclass(frozen=True, kw_only=True)
class Exclusion:
    """Two stands never used together; ``sessions`` None means in any session."""

    stand_ids: tuple[str, str]
    sessions: tuple[SessionKey, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class RotationProblem:
    """One plan's input.

    A (stand, session) without an outlook is not offered. ``uses_outside`` are uses outside
    ``sessions``: past ones, and bookings beyond the plan. ``guests`` are all whom wishes and
    seats name along. ``locked`` seats are bookings that
    never move; ``evening_halves`` are those among them that continue an all-day sit.
    ``published`` is the plan published last, None where there was none. ``same_wind_cap``
    None sets no same-wind rule; ``excess_price`` is what half a use beyond a soft cap costs,
    in quality. ``stability_share`` of the best quality, and of the lowest
    share, may be given up to keep published seats. Raises :class:`InvalidProblem`.
    """

    members: tuple[PlanMember, ...]
    stands: tuple[PlanStand, ...]
    properties: tuple[PlanProperty, ...]
    sessions: tuple[SessionKey, ...]
    outlooks: tuple[Outlook, ...]
    guests: tuple[PlanGuest, ...] = ()
    exclusions: tuple[Exclusion, ...] = ()
    uses_outside: tuple[Use, ...] = ()
    locked: tuple[Seat, ...] = ()
    evening_halves: tuple[Seat, ...] = ()
    published: tuple[Seat, ...] | None = None
    fit_floor_percent: int = 0
    same_wind_cap: int | None = 2
    same_wind_window_days: int = 10
    excess_price: int = 40
    stability_share: float = 0.01

    def __post_init__(self) -> None:
        put = object.__setattr__
        put(self, "members", tuple(sorted(self.members, key=lambda member: member.id)))
        put(self, "stands", tuple(sorted(self.stands, key=lambda stand: stand.id)))
        put(self, "properties", tuple(sorted(self.properties, key=lambda place: place.id)))
        put(self, "sessions", tuple(sorted(self.sessions, key=lambda session: session.order)))
        put(self, "outlooks", tuple(sorted(self.outlooks, key=_outlook_order)))
        put(self, "guests", tuple(sorted(self.guests, key=lambda guest: guest.id)))
        put(self, "exclusions", tuple(sorted(self.exclusions, key=_exclusion_order)))
        put(self, "uses_outside", tuple(sorted(self.uses_outside, key=_use_order)))
        for name in ("locked", "evening_halves", "published"):
            seats = getattr(self, name)
            if seats is not None:
                put(self, name, tuple(sorted(seats, key=lambda seat: seat.sort_key)))
        faults = list(faults_of(self))
        if faults:
            raise InvalidProblem("; ".join(faults))

    @cached_property
    def _evening_halves(self) -> frozenset[Seat]:
        return frozenset(self.evening_halves)

    def is_of_wished_day(self, seat: Seat) -> bool:
        """Whether the seat is half of an all-day sit that its member wishes."""
        member = self.member_by_id[seat.member_id]
        wish = member.wish_with.get(seat.guest_ids) if seat.guest_ids else member
        return wish is not None and seat.session.local_date in wish.all_day_on

    def is_of_whole_day(self, seat: Seat) -> bool:
        """Whether the seat is half of an all-day sit, wished or booked."""
        evening = SessionKey(seat.session.local_date, SessionKind.EVENING)
        return self.is_of_wished_day(seat) or seat._replace(session=evening) in self._evening_halves

    def continues_morning(self, seat: Seat) -> bool:
        """Whether the seat is the evening of an all-day sit, and so no sit of its own."""
        if seat in self._evening_halves:
            return True
        return seat.session.kind is SessionKind.EVENING and self.is_of_wished_day(seat)

    @cached_property
    def member_by_id(self) -> Mapping[str, PlanMember]:
        return {member.id: member for member in self.members}

    @cached_property
    def guest_by_id(self) -> Mapping[str, PlanGuest]:
        return {guest.id: guest for guest in self.guests}

    def guests_counted(self, seat: Seat) -> int:
        """How many guests' sits a seat is by the caps; the evening of an all-day sit is none."""
        if not seat.guest_ids or self.continues_morning(seat):
            return 0
        day = seat.session.local_date
        return sum(self.guest_by_id[guest].is_counted_on(day) for guest in seat.guest_ids)

    @cached_property
    def stand_by_id(self) -> Mapping[str, PlanStand]:
        return {stand.id: stand for stand in self.stands}

    @cached_property
    def property_by_id(self) -> Mapping[str, PlanProperty]:
        return {place.id: place for place in self.properties}

    @cached_property
    def outlook_at(self) -> Mapping[tuple[str, SessionKey], Outlook]:
        return {(outlook.stand_id, outlook.session): outlook for outlook in self.outlooks}

    @cached_property
    def stands_on(self) -> Mapping[str, tuple[PlanStand, ...]]:
        """The stands of each property that has any."""
        found: dict[str, list[PlanStand]] = {}
        for stand in self.stands:
            found.setdefault(stand.property_id, []).append(stand)
        return {place: tuple(stands) for place, stands in found.items()}

    @cached_property
    def open_stands_in(self) -> Mapping[SessionKey, frozenset[str]]:
        """The ids of the stands offered in each session."""
        found: dict[SessionKey, set[str]] = {}
        for outlook in self.outlooks:
            if self.is_open(outlook):
                found.setdefault(outlook.session, set()).add(outlook.stand_id)
        return {session: frozenset(stands) for session, stands in found.items()}

    @property
    def sectors(self) -> int:
        return len(self.outlooks[0].sector_per_mille) if self.outlooks else 8

    @property
    def first_sit_points(self) -> int:
        """Level points of a member's first sit, without priority; each further one counts one
        point less.
        """
        return max(4, max((member.sits_requested for member in self.members), default=0))

    def is_open(self, outlook: Outlook) -> bool:
        return not outlook.closed_because and outlook.fit_percent >= self.fit_floor_percent

    def quality_percent(self, seat: Seat) -> int:
        """What a seat is worth, 0..100 for ordinary stands: fit × stand × preference, floored.

        0 where there is no outlook (a booking on a stand that the plan would not offer).
        """
        outlook = self.outlook_at.get((seat.stand_id, seat.session))
        if outlook is None:
            return 0
        member, stand = self.member_by_id[seat.member_id], self.stand_by_id[seat.stand_id]
        wish = member.wish_with.get(seat.guest_ids, member) if seat.guest_ids else member
        preference = wish.preference_percent.get(seat.stand_id, 100)
        return outlook.fit_percent * stand.quality_percent * preference // 10_000

    def worth(self, seat: Seat) -> int:
        """What a seat counts toward its member's share: its quality, more on prime days."""
        outlook = self.outlook_at.get((seat.stand_id, seat.session))
        return 0 if outlook is None else self.quality_percent(seat) * outlook.share_percent // 100

    def fingerprint(self) -> str:
        """A hash of everything the problem says, whatever the order it was said in."""
        return hashlib.sha256(self.to_json().encode()).hexdigest()

    def to_json(self) -> str:
        """The problem as text; ``serialised.from_json`` reads it back."""
        return json.dumps(asdict(self), default=date.isoformat, sort_keys=True)


def _outlook_order(outlook: Outlook) -> tuple[Any, ...]:
    return (outlook.session.order, outlook.stand_id)


def _exclusion_order(exclusion: Exclusion) -> tuple[Any, ...]:
    sessions = exclusion.sessions
    return (exclusion.stand_ids, sessions is not None, [key.order for key in sessions or ()])


def _use_order(use: Use) -> tuple[Any, ...]:
    return (use.session.order, use.stand_id, use.continues_morning, use.sector_per_mille)

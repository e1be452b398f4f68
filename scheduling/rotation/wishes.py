"""Who asks for what in a planning problem: members, alone or with guests, and the seats granted."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import NamedTuple

from properties.sessions.kinds import SessionKey


class Seat(NamedTuple):
    """One member in one stand in one session, with ``guest_ids`` (in order) in the same stand."""

    member_id: str
    stand_id: str
    session: SessionKey
    guest_ids: tuple[str, ...] = ()

    @property
    def sort_key(self) -> tuple[int, str, str, tuple[str, ...]]:
        return (self.session.order, self.stand_id, self.member_id, self.guest_ids)

    @property
    def hunters(self) -> int:
        return 1 + len(self.guest_ids)

    @property
    def people(self) -> tuple[str, ...]:
        return (self.member_id, *self.guest_ids)


@dataclass(frozen=True, kw_only=True)
class PlanGuest:
    """Somebody whom members bring; ``youth_until``: their last day as a young hunter, if any."""

    id: str
    youth_until: date | None = None

    def is_counted_on(self, day: date) -> bool:
        """Whether the caps of guests count them that day: young hunters are not counted."""
        return self.youth_until is None or day > self.youth_until


@dataclass(frozen=True, kw_only=True)
class PlanAsk:
    """One of several wishes with the same guests: its own number of sits, where and when.

    ``all_day``: it asks for whole days, and for no session alone; else for sessions alone.
    """

    sits_requested: int
    stands: tuple[str, ...]
    sessions: tuple[SessionKey, ...]
    all_day: bool = False

    @cached_property
    def _places(self) -> tuple[frozenset[str], frozenset[SessionKey]]:
        return frozenset(self.stands), frozenset(self.sessions)

    def asks_for(self, *, stand_id: str, session: SessionKey, all_day: bool) -> bool:
        """``all_day``: the session is half of an all-day sit."""
        stands, sessions = self._places
        return self.all_day is all_day and stand_id in stands and session in sessions


@dataclass(frozen=True, kw_only=True)
class PlanWish:
    """What a member asks for with the same guests, who all sit in one stand; or alone.

    ``preference_percent`` weighs stands (100 where unnamed, 0: not wanted). On ``all_day_on``
    a stand is wanted for morning and evening together, one sit, or none; no session of these
    days is in ``available``, and on none of them does the member hold a booking. On ``not_there``,
    properties by id with a session, nobody asks, or a rule that looks at the people refuses; on
    ``not_at``, stands by id with a session, other stands are asked for.

    ``asks``: where several wishes were put together, each with its own number. Each sit is given
    to one that asks for it; a booking for which none asks counts toward all together.
    """

    sits_requested: int
    available: tuple[SessionKey, ...]
    properties: tuple[str, ...]
    preference_percent: Mapping[str, int] = field(default_factory=dict)
    all_day_on: tuple[date, ...] = ()
    not_there: tuple[tuple[str, SessionKey], ...] = ()
    not_at: tuple[tuple[str, SessionKey], ...] = ()
    asks: tuple[PlanAsk, ...] = ()
    guest_ids: tuple[str, ...] = ()

    @cached_property
    def _barred(self) -> frozenset[tuple[str, SessionKey]]:
        return frozenset((*self.not_there, *self.not_at))

    def bars(self, *, property_id: str, stand_id: str, session: SessionKey) -> bool:
        """Whether a stand that is wanted at other times is none of the wish in a session."""
        barred = self._barred
        return bool(barred) and ((property_id, session) in barred or (stand_id, session) in barred)


@dataclass(frozen=True, kw_only=True)
class PlanMember:
    """A member's wishes and limits.

    ``sits_requested`` are all sits asked for, alone and with guests; ``available``,
    ``properties``, ``preference_percent``, ``all_day_on``, ``not_there``, ``not_at`` and ``asks``
    are of those alone, as :class:`PlanWish` says; ``with_guests`` has a wish for each set of
    guests. ``sits_a_week`` None sets no weekly limit; ``sits_held_by_week`` counts sits outside
    the plan by the Monday of their week. ``received_quality`` is what the season to date gave,
    ``entitlement`` what it is measured against (None: the sits requested). ``priority_points``
    are added to the first-wish points of each of their sits.
    """

    id: str
    sits_requested: int
    available: tuple[SessionKey, ...]
    properties: tuple[str, ...]
    sits_per_day: int = 1
    sits_a_week: int | None = None
    sits_held_by_week: tuple[tuple[date, int], ...] = ()
    preference_percent: Mapping[str, int] = field(default_factory=dict)
    entitlement: int | None = None
    received_quality: int = 0
    priority_points: int = 0
    all_day_on: tuple[date, ...] = ()
    not_there: tuple[tuple[str, SessionKey], ...] = ()
    not_at: tuple[tuple[str, SessionKey], ...] = ()
    asks: tuple[PlanAsk, ...] = ()
    with_guests: tuple[PlanWish, ...] = ()

    @property
    def share_base(self) -> int:
        """What the member's quality is divided by when the worst served is sought."""
        return max(1, self.sits_requested if self.entitlement is None else self.entitlement)

    @cached_property
    def wish_with(self) -> Mapping[tuple[str, ...], PlanWish]:
        """The wishes by their guests; ``()``: alone, whatever is not asked for with guests."""
        alone = PlanWish(
            sits_requested=self.sits_requested
            - sum(wish.sits_requested for wish in self.with_guests),
            available=self.available,
            properties=self.properties,
            preference_percent=self.preference_percent,
            all_day_on=self.all_day_on,
            not_there=self.not_there,
            not_at=self.not_at,
            asks=self.asks,
        )
        return {(): alone, **{wish.guest_ids: wish for wish in self.with_guests}}

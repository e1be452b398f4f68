"""One person's wishes with the same guests: what was asked for, and what the rules leave of it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from properties.people.hosting import Companion, companions
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.windows import SessionWindow
from properties.stands.models import Stand
from scheduling.rotation.checks import MOST_ASKS
from scheduling.rotation.problem import PlanAsk, PlanWish
from scheduling.rules.facts import SitProposal
from scheduling.rules.judge import CandidateFilter
from scheduling.rules.words import count_words, session_words
from scheduling.sits.facts_queries import SitFacts
from scheduling.sits.models import SitRequest, SitSpan

ALL_DAY = SitSpan.ALL_DAY.value

Guests = tuple[str, ...]
_At = Mapping[str, frozenset[SessionKey]]
"""Sessions in which a property, by its id, may be planned for somebody."""


@dataclass(frozen=True, kw_only=True)
class PlanWindow:
    """The days of a plan, local dates both included, and their sessions in order."""

    first_on: date
    last_on: date
    sessions: tuple[SessionKey, ...]

    @property
    def days(self) -> tuple[date, ...]:
        return tuple(dict.fromkeys(session.local_date for session in self.sessions))


@dataclass(frozen=True, kw_only=True)
class ReadWish:
    """A wish, and the sentences of whatever kept some of it out."""

    wish: PlanWish
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class WishReader:
    """Reads wishes against one snapshot; each rule that looks at people is asked with guests."""

    facts: SitFacts
    filtered: CandidateFilter
    companions: Mapping[UUID, Companion]
    window: PlanWindow
    now: datetime

    @classmethod
    def of(
        cls,
        facts: SitFacts,
        requests: Iterable[SitRequest],
        window: PlanWindow,
        now: datetime,
    ) -> "WishReader":
        named = {UUID(guest_id) for request in requests for guest_id in request.guests}
        return cls(
            facts=facts,
            filtered=CandidateFilter(
                facts=facts.booking, limits_of=lambda stand: facts.limits[stand]
            ),
            companions=companions(named),
            window=window,
            now=now,
        )

    def read(
        self,
        person_id: str,
        guests: Guests,
        together: Sequence[SitRequest],
        own: Sequence[SitRequest],
        booked_on: Collection[date],
    ) -> ReadWish:
        """The wish behind the requests that name the same ``guests``.

        ``own`` are all requests of the person: the longest notice asked for holds for each.
        """
        objections: dict[str, None] = {}
        by_day = [request for request in together if ALL_DAY in request.kinds]
        by_session = [request for request in together if ALL_DAY not in request.kinds]
        days_at = self._free(person_id, guests, by_day, objections)
        free_at = self._free(person_id, guests, by_session, objections)
        notice_days = notice_days_of(own)[UUID(person_id)]
        soonest = self.now + timedelta(days=notice_days)
        in_time = {one for one in self.window.sessions if self._begins(own, one) >= soonest}
        asked = frozenset().union(*days_at.values(), *free_at.values())
        is_short = notice_days and not asked <= in_time
        words = (f"You asked for {count_words(notice_days, 'day')} of notice.",) if is_short else ()
        whole = {
            day
            for day in self.window.days
            if SessionKey(day, SessionKind.MORNING) in in_time
            and day not in booked_on
            and any(both_halves(day) <= there for there in days_at.values())
        }
        free = frozenset().union(*free_at.values()) & in_time
        # A day asked for as a whole is planned as a whole, or not at all.
        singly = tuple(
            one for one in self.window.sessions if one in free and one.local_date not in whole
        )
        properties = tuple(sorted({str(request.property_id) for request in together}))
        wanted = sum(request.wanted_sits for request in together)
        wish = PlanWish(
            sits_requested=min(wanted, len(self.window.sessions)),
            available=singly,
            all_day_on=tuple(sorted(whole)),
            properties=properties,
            not_there=tuple(_not_there(properties, singly, whole, free_at, days_at)),
            not_at=tuple(_not_at(together, self.facts, singly, whole)),
            asks=tuple(_asks_apart(together, self.facts, self.window)),
            preference_percent=_preference(together, self.facts),
            guest_ids=guests,
        )
        return ReadWish(wish=wish, notes=(*words, *objections))

    def _free(
        self,
        person_id: str,
        guests: Guests,
        requests: Sequence[SitRequest],
        objections: dict[str, None],
    ) -> _At:
        """Sessions asked for in which nothing objects to the people; adds to ``objections``."""
        a_stand_on = {stand.property_id: str(stand.id) for stand in self.facts.stands.values()}
        free: dict[str, set[SessionKey]] = defaultdict(set)
        for request in requests:
            if request.property_id not in a_stand_on:
                continue
            for session in self.window.sessions:
                if not _asks(request, session):
                    continue
                proposal = SitProposal(
                    member_id=person_id,
                    stand_id=a_stand_on[request.property_id],
                    sessions=(session,),
                    guest_ids=guests,
                )
                found = list(self._objections(proposal, session))
                objections.update(dict.fromkeys(found))
                if not found:
                    free[str(request.property_id)].add(session)
        return {place: frozenset(sessions) for place, sessions in free.items()}

    def _objections(self, proposal: SitProposal, session: SessionKey) -> Iterator[str]:
        for guest_id in proposal.guest_ids:
            guest = self.companions[UUID(guest_id)]
            if not guest.comes_with(UUID(proposal.member_id), on=session.local_date):
                yield f"{guest.name} is not among those whom you may bring."
        for refusal in self.filtered.people_refusals(proposal):
            yield refusal.sentence
        planned = {str(stand.id) for stand in self.facts.stands.values()}
        for person in proposal.people:
            known = self.facts.booking.member(person)
            if any(one.session == session and one.stand_id not in planned for one in known.claims):
                yield f"{known.name} sits on another property in {session_words(session)}."

    def _begins(self, own: Sequence[SitRequest], session: SessionKey) -> datetime:
        """When the first of the properties asked for opens its session; far off if none does."""
        windows = [self.facts.windows.get((request.property_id, session)) for request in own]
        return min(
            (window.approach_from for window in windows if isinstance(window, SessionWindow)),
            default=datetime.max.replace(tzinfo=UTC),
        )


def notice_days_of(requests: Iterable[SitRequest]) -> dict[UUID, int]:
    """The longest notice that each person asked for, in days; 0 for everybody else."""
    found: dict[UUID, int] = defaultdict(int)
    for request in requests:
        found[request.person_id] = max(found[request.person_id], request.notice_days)
    return found


def asked_on(requests: Iterable[SitRequest], window: PlanWindow) -> dict[str, dict[str, int]]:
    """How many sits each person asked for on each property, as far as the plan has sessions."""
    found: dict[str, dict[str, int]] = {}
    for request in requests:
        places = found.setdefault(str(request.person_id), {})
        place = str(request.property_id)
        asked = places.get(place, 0) + request.wanted_sits
        places[place] = min(asked, len(window.sessions))
    return found


def both_halves(day: date) -> frozenset[SessionKey]:
    return frozenset(SessionKey(day, kind) for kind in (SessionKind.MORNING, SessionKind.EVENING))


def _asks(request: SitRequest, session: SessionKey) -> bool:
    return request.first_on <= session.local_date <= request.last_on and (
        not request.kinds or ALL_DAY in request.kinds or session.kind in request.kinds
    )


def _not_there(
    properties: Sequence[str],
    singly: Sequence[SessionKey],
    whole: Collection[date],
    free_at: _At,
    days_at: _At,
) -> Iterator[tuple[str, SessionKey]]:
    """Sessions of the wish in which one of its properties is not asked for, or is refused."""
    halves = sorted((half for day in whole for half in both_halves(day)), key=lambda one: one.order)
    for place in properties:
        for sessions, there in ((singly, free_at), (halves, days_at)):
            known = there.get(place, frozenset())
            yield from ((place, session) for session in sessions if session not in known)


def _not_at(
    requests: Sequence[SitRequest],
    facts: SitFacts,
    singly: Sequence[SessionKey],
    whole: Collection[date],
) -> Iterator[tuple[str, SessionKey]]:
    """Sessions of the wish in which a stand is not wanted that another request of it wants."""
    halves = {half for day in whole for half in both_halves(day)}
    asked = [(one, False) for one in singly] + [
        (one, True) for one in sorted(halves, key=lambda one: one.order)
    ]
    for stand in facts.stands.values():
        there = [request for request in requests if request.property_id == stand.property_id]
        unwanting = [request for request in there if not _percent(request, stand)]
        if not unwanting or len(unwanting) == len(there):
            continue
        for session, by_day in asked:
            if not any(
                _percent(request, stand)
                for request in there
                if (ALL_DAY in request.kinds) is by_day and _asks(request, session)
            ):
                yield str(stand.id), session


def _asks_apart(
    requests: Sequence[SitRequest], facts: SitFacts, window: PlanWindow
) -> Iterator[PlanAsk]:
    """Each of several requests with its own number; none where they are more than a plan parts."""
    if not 1 < len(requests) <= MOST_ASKS:
        return
    for request in requests:
        sessions = tuple(session for session in window.sessions if _asks(request, session))
        yield PlanAsk(
            sits_requested=min(request.wanted_sits, len(sessions)),
            stands=tuple(
                str(stand.id)
                for stand in facts.stands.values()
                if stand.property_id == request.property_id
                and stand.retired_at is None
                and _percent(request, stand)
            ),
            sessions=sessions,
            all_day=ALL_DAY in request.kinds,
        )


def _preference(requests: Sequence[SitRequest], facts: SitFacts) -> dict[str, int]:
    """Percent by stand, the highest that any request gives it; 100 where it stands in none."""
    found: dict[str, int] = {}
    for stand in facts.stands.values():
        there = [request for request in requests if request.property_id == stand.property_id]
        percent = max((_percent(request, stand) for request in there), default=100)
        if percent != 100:
            found[str(stand.id)] = percent
    return found


def _percent(request: SitRequest, stand: Stand) -> int:
    """Where a request names stands, others of its property are not wanted."""
    if not request.wanted_stands:
        return 100
    return int(request.wanted_stands.get(str(stand.id), 0))

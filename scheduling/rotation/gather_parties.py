"""Standing sits as parties: whoever sits, and the guests who came along to the same stand."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from properties.land.years import year_of
from properties.sessions.kinds import SessionKind
from scheduling.rotation.problem import PlanGuest, Seat
from scheduling.rules.facts import PropertyFacts
from scheduling.rules.snapshot import BookingFacts
from scheduling.sits.models import Sit, SitRequest, SitSpan
from scheduling.sits.uses_queries import sessions_of_sit

_Together = tuple[UUID, UUID, date, str]


@dataclass(frozen=True, kw_only=True)
class Party:
    """A person's sit with those of the guests, in the order of the guests' ids."""

    sit: Sit
    guests: tuple[Sit, ...] = ()

    @property
    def everybody(self) -> tuple[Sit, ...]:
        return (self.sit, *self.guests)

    @property
    def seats(self) -> tuple[Seat, ...]:
        """A seat for each session; all day: two."""
        guest_ids = tuple(str(guest.person_id) for guest in self.guests)
        return tuple(
            Seat(str(self.sit.person_id), str(self.sit.stand_id), session, guest_ids)
            for session in sessions_of_sit(self.sit)
        )

    @property
    def evening_halves(self) -> tuple[Seat, ...]:
        is_all_day = self.sit.span == SitSpan.ALL_DAY
        return tuple(
            seat for seat in self.seats if is_all_day and seat.session.kind is SessionKind.EVENING
        )


def parties_of(standing: Sequence[Sit]) -> list[Party]:
    """The sits as parties; a guest whose host does not sit there then is one alone."""
    hosts = {_together(sit, sit.person_id): sit for sit in standing if sit.host_id is None}
    brought: dict[UUID, list[Sit]] = defaultdict(list)
    alone: list[Sit] = []
    for sit in standing:
        host = None if sit.host_id is None else hosts.get(_together(sit, sit.host_id))
        if host is not None:
            brought[host.id].append(sit)
        else:
            alone.append(sit)
    return [
        Party(sit=sit, guests=tuple(sorted(brought[sit.id], key=lambda one: str(one.person_id))))
        for sit in alone
    ]


def plan_guests(
    requests: Iterable[SitRequest], parties: Iterable[Party], booking: BookingFacts
) -> Iterable[PlanGuest]:
    """Everybody whom a wish or a standing sit names along."""
    named = {guest_id for request in requests for guest_id in request.guests}
    named |= {str(guest.person_id) for party in parties for guest in party.guests}
    for guest_id in sorted(named):
        yield PlanGuest(id=guest_id, youth_until=booking.member(guest_id).youth_until)


def guest_sits_held(
    place: PropertyFacts,
    parties: Iterable[Party],
    booking: BookingFacts,
    days: tuple[date, date],
) -> tuple[tuple[int, str, int], ...]:
    """Guests' sits by season's year and host, but for those of the plan's own ``parties``.

    Of the years in which the plan's first and last of ``days`` lie.
    """
    in_plan = Counter(
        (guest.local_date, str(guest.host_id))
        for party in parties
        for guest in party.guests
        if str(guest.property_id) == place.property_id
        and not booking.member(str(guest.person_id)).is_youth_on(guest.local_date)
    )
    years = {year_of(day, first_month=place.year_first_month) for day in days}
    held: Counter[tuple[int, str]] = Counter()
    for (day, host), sits in (Counter(place.guest_sits) - in_plan).items():
        held[year_of(day, first_month=place.year_first_month), host] += sits
    return tuple(sorted((year, host, sits) for (year, host), sits in held.items() if year in years))


def wishes_by_guests(
    requests: Iterable[SitRequest],
) -> Mapping[tuple[str, ...], list[SitRequest]]:
    """One person's wishes, together where they name the same guests."""
    found: dict[tuple[str, ...], list[SitRequest]] = defaultdict(list)
    for request in requests:
        found[tuple(sorted(request.guests))].append(request)
    return found


def _together(sit: Sit, person_id: UUID) -> _Together:
    return (person_id, sit.stand_id, sit.local_date, sit.span)

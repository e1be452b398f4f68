"""The waiting list as it stands: its order, and the seats held for those who were offered one.

Order: fewest sits on the property in this season's year first, then who asked first.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped_with_own
from properties.land.models import Property
from properties.land.years import year_of
from scheduling.sits.harvest_years import season_year_days
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit
from scheduling.sits.uses_queries import COUNTED_STATES, HeldSeat, sessions_of_span
from scheduling.sits.waiting_models import OPEN_STATES, WaitingEntry, WaitingState


@dataclass(frozen=True, kw_only=True)
class Place:
    """An entry's place among those who wait for the same seats; 1 is next."""

    number: int
    of: int


def waiting_visible_to(
    *, actor: Actor, action: Action = Action.REQUEST_READ
) -> QuerySet[WaitingEntry]:
    """One's own entries; a manager's all of the property."""
    return scoped_with_own(
        WaitingEntry.objects.all(),
        actor=actor,
        action=Action.SIT_MANAGE,
        own=("person",),
        own_action=action,
    )


def held_seats(
    *,
    property_ids: Collection[UUID],
    first_on: date,
    last_on: date,
    now: datetime,
    not_for: Collection[UUID] = (),
) -> list[HeldSeat]:
    """Seats offered to somebody whose time to answer has not passed; one query.

    ``not_for`` are persons whose own offers stand in nobody's way.
    """
    rows = WaitingEntry.objects.filter(
        property__in=property_ids,
        local_date__range=(first_on, last_on),
        state=WaitingState.OFFERED,
        answer_by__gt=now,
    ).exclude(person__in=not_for)
    return [
        HeldSeat(stand_id=stand_id, sessions=sessions_of_span(day, span), answer_by=answer_by)
        for stand_id, day, span, answer_by in rows.values_list(
            "offered_stand_id", "local_date", "span", "answer_by"
        )
        if stand_id is not None and answer_by is not None
    ]


def in_order(land: Property, entries: Iterable[WaitingEntry]) -> list[WaitingEntry]:
    """Entries of one property and date in the order in which the list is worked."""
    entries = list(entries)
    if not entries:
        return []
    sits = sits_this_season(land, entries[0].local_date, {entry.person_id for entry in entries})
    return _by_sits(entries, sits)


def _by_sits(entries: Iterable[WaitingEntry], sits: Mapping[UUID, int]) -> list[WaitingEntry]:
    return sorted(entries, key=lambda entry: (sits[entry.person_id], entry.asked_at, entry.id))


def sits_this_season(land: Property, day: date, person_ids: Collection[UUID]) -> Mapping[UUID, int]:
    """Each person's sits on the property, past and booked, in the season's year of ``day``."""
    first, end = season_days(land, day)
    rows = Sit.objects.filter(
        property=land,
        person__in=person_ids,
        state__in=COUNTED_STATES,
        local_date__gte=first,
        local_date__lt=end,
    )
    return Counter(rows.values_list("person_id", flat=True))


def season_days(land: Property, day: date) -> tuple[date, date]:
    """First local date of the season's year that holds ``day``, and that of the next."""
    first_month = sit_settings_of(land).season_year_first_month
    return season_year_days(year_of(day, first_month=first_month), land)


Day = tuple[UUID, date]
"""A property, by its id, and one of its local dates."""


def places_on_days(shown: Collection[WaitingEntry]) -> Mapping[Day, Mapping[UUID, Place]]:
    """The place of every open entry of the properties and dates of those shown; two queries.

    ``shown`` come with their ``property`` and its cooperative.
    """
    lands = {entry.property_id: entry.property for entry in shown}
    together: dict[Day, list[WaitingEntry]] = {
        (entry.property_id, entry.local_date): [] for entry in shown
    }
    rows = WaitingEntry.objects.filter(
        property__in=lands, local_date__in={day for _land, day in together}, state__in=OPEN_STATES
    )
    for entry in rows:
        if (entry.property_id, entry.local_date) in together:
            together[entry.property_id, entry.local_date].append(entry)
    spans = {key: season_days(lands[key[0]], key[1]) for key in together}
    seated = _days_seated(together, spans)
    places = {}
    for key, entries in together.items():
        first, end = spans[key]
        sits = {
            entry.person_id: sum(first <= day < end for day in seated[key[0], entry.person_id])
            for entry in entries
        }
        ordered = _by_sits(entries, sits)
        places[key] = {entry.id: _place(entry, ordered) for entry in ordered}
    return places


def _days_seated(
    together: Mapping[Day, Sequence[WaitingEntry]], spans: Mapping[Day, tuple[date, date]]
) -> Mapping[tuple[UUID, UUID], list[date]]:
    """Local dates of the sits of those who wait, by property and person, in all their seasons."""
    days: dict[tuple[UUID, UUID], list[date]] = defaultdict(list)
    if not spans:
        return days
    rows = Sit.objects.filter(
        property__in={land_id for land_id, _day in together},
        person__in={entry.person_id for entries in together.values() for entry in entries},
        state__in=COUNTED_STATES,
        local_date__gte=min(first for first, _end in spans.values()),
        local_date__lt=max(end for _first, end in spans.values()),
    )
    for land_id, person_id, day in rows.values_list("property_id", "person_id", "local_date"):
        days[land_id, person_id].append(day)
    return days


def _place(entry: WaitingEntry, ordered: Sequence[WaitingEntry]) -> Place:
    rivals = [other for other in ordered if other is entry or _compete(entry, other)]
    return Place(number=rivals.index(entry) + 1, of=len(rivals))


def _compete(one: WaitingEntry, other: WaitingEntry) -> bool:
    """Whether two entries may want one and the same seat."""
    sessions = set(sessions_of_span(one.local_date, one.span))
    if sessions.isdisjoint(sessions_of_span(other.local_date, other.span)):
        return False
    return None in (one.stand_id, other.stand_id) or one.stand_id == other.stand_id

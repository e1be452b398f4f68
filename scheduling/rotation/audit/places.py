"""Stands that exclude each other, and what a property bears."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from properties.sessions.kinds import SessionKey
from scheduling.rotation.problem import Seat
from scheduling.rules import words

from .tally import Tally, Violation, monday


def side_by_side(tally: Tally, session: SessionKey, there: Sequence[Seat]) -> Iterator[Violation]:
    used = {seat.stand_id for seat in there}
    for exclusion in tally.problem.exclusions:
        applies = exclusion.sessions is None or session in exclusion.sessions
        if applies and used.issuperset(exclusion.stand_ids):
            one, other = exclusion.stand_ids
            yield tally.found(
                "neighbour_in_use",
                f"{tally.problem.stand_by_id[one].shown_name} and "
                f"{tally.problem.stand_by_id[other].shown_name} are both used in "
                f"{words.session_words(session)}.",
                [*tally.behind(one, session), *tally.behind(other, session)],
            )


def overfull(tally: Tally, session: SessionKey, there: Sequence[Seat]) -> Iterator[Violation]:
    on_property: dict[str, list[Seat]] = defaultdict(list)
    for seat in there:
        on_property[tally.problem.stand_by_id[seat.stand_id].property_id].append(seat)
    for place in tally.problem.properties:
        if place.hunters_a_session is None:
            continue
        own = on_property[place.id]
        hunters = tally.hunters(own)
        if hunters > place.hunters_a_session:
            sentence = (
                f"{hunters} hunters on property {place.id} in "
                f"{words.session_words(session)}; it takes {place.hunters_a_session}."
            )
            yield tally.found("property_full", sentence, own)


def overspent_weeks(tally: Tally) -> Iterator[Violation]:
    """Uses of a property from Monday to Sunday; an evening that goes on counts nothing."""
    planned: dict[tuple[str, date], list[SessionKey]] = defaultdict(list)
    seats: dict[tuple[str, date], list[Seat]] = defaultdict(list)
    for stand in tally.problem.stands:
        for session in tally.sessions_of(stand):
            there = (stand.property_id, monday(session.local_date))
            planned[there].append(session)
            seats[there] += tally.behind(stand.id, session)
    property_of = {stand.id: stand.property_id for stand in tally.problem.stands}
    outside = Counter(
        (property_of[use.stand_id], monday(use.session.local_date))
        for use in tally.problem.uses_outside
        if not use.continues_morning
    )
    for place in tally.problem.properties:
        for (property_id, week), sessions in planned.items():
            uses = len(sessions) + outside[property_id, week]
            if property_id == place.id and place.uses_a_week and uses > place.uses_a_week:
                sentence = (
                    f"Property {place.id} counts {uses} uses in the week of "
                    f"{words.day_words(week)}; it bears {place.uses_a_week}."
                )
                yield tally.found("pressure_budget", sentence, seats[property_id, week])

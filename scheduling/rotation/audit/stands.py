"""Places, company and rest of each stand."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from properties.sessions.kinds import SessionKey
from scheduling.rotation.problem import PlanStand, Seat
from scheduling.rules import words

from .tally import Tally, Violation


def crowded(
    tally: Tally, stand: PlanStand, session: SessionKey, there: Sequence[Seat]
) -> Iterator[Violation]:
    hunters = tally.hunters(there)
    if hunters > stand.capacity:
        sentence = (
            f"{hunters} hunters on {stand.shown_name}, which has {stand.capacity}, in "
            f"{words.session_words(session)}."
        )
        yield tally.found("stand_full", sentence, there)


def joined_half_way(
    tally: Tally, stand_id: str, session: SessionKey, there: Sequence[Seat]
) -> Iterator[Violation]:
    goes_on = [seat for seat in there if seat in tally.planned_halves]
    is_bookings_too = any(seat in tally.halves - tally.planned_halves for seat in there)
    if goes_on and not is_bookings_too and len(goes_on) < len(there):
        name = tally.problem.stand_by_id[stand_id].shown_name
        sentence = (
            f"Somebody joins an all-day sit on {name} in {words.session_words(session)} only."
        )
        yield tally.found("joins_all_day", sentence, there)


def unrested(tally: Tally, stand: PlanStand) -> Iterator[Violation]:
    own = tally.sessions_of(stand)
    for earlier, later in pairwise(own):
        if (later.local_date - earlier.local_date).days < stand.rest_days:
            sentence = (
                f"{stand.shown_name} is used in {words.session_words(earlier)} and again in "
                f"{words.session_words(later)}: less than {stand.rest_days} days apart."
            )
            seats = [*tally.behind(stand.id, earlier), *tally.behind(stand.id, later)]
            yield tally.found("stand_resting", sentence, seats)
    for use in tally.outside(stand):
        for session in own:
            apart = (session.local_date - use.session.local_date).days
            follows = session.order > use.session.order
            rest = stand.rest_days
            if follows and use.rest_days is not None:
                rest = use.rest_days
            if abs(apart) < rest:
                sentence = (
                    f"{stand.shown_name} was taken in {words.session_words(use.session)}: "
                    f"less than {rest} days from {words.session_words(session)}."
                )
                yield tally.found("stand_resting", sentence, tally.behind(stand.id, session))

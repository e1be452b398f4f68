"""Every rule counted anew over a finished plan.

Written apart from the solver and from the rules' rows: plain counting over days, stands and
members. Tests use it, and so does whoever publishes a plan.
"""

from collections.abc import Iterable, Iterator

from scheduling.rotation.problem import RotationProblem, Seat

from . import guests, places, seats, stands
from .same_wind import Excess, excess_of, worn
from .tally import Tally, Violation

__all__ = ["Excess", "Violation", "audit", "excesses"]


def audit(problem: RotationProblem, seats: Iterable[Seat]) -> list[Violation]:
    """Every rule that the plan ``seats`` breaks; empty when it breaks none."""
    return list(_violations(Tally(problem, seats)))


def excesses(problem: RotationProblem, seats: Iterable[Seat]) -> list[Excess]:
    """The greatest excess of each stand whose cap is soft; stands within theirs are left out."""
    tally = Tally(problem, seats)
    found = [excess_of(tally, stand) for stand in problem.stands if stand.same_wind_excess]
    return [one for one in found if one is not None]


def _violations(tally: Tally) -> Iterator[Violation]:
    yield from seats.bookings_and_doubles(tally)
    for seat in tally.seats:
        yield from seats.not_to_be_had(tally, seat)
        yield from seats.half_a_day(tally, seat)
    for (stand_id, session), there in tally.at.items():
        yield from stands.crowded(tally, tally.problem.stand_by_id[stand_id], session, there)
        yield from stands.joined_half_way(tally, stand_id, session, there)
    for stand in tally.problem.stands:
        yield from stands.unrested(tally, stand)
        yield from worn(tally, stand)
    yield from places.overspent_weeks(tally)
    for session, there in tally.in_session.items():
        yield from places.side_by_side(tally, session, there)
        yield from places.overfull(tally, session, there)
        yield from guests.in_two_places(tally, session, there)
    yield from guests.beyond_caps(tally)
    for member_id, own in tally.by_member.items():
        yield from seats.beyond_own_limits(tally, member_id, own)
        yield from seats.beyond_own_wishes(tally, member_id, own)

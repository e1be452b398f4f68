"""Guests' sits of a plan, as the caps for a host and for a property count them."""

from collections.abc import Iterable, Iterator

from properties.land.years import year_of
from scheduling.rules.guest_caps import planned_refusals
from scheduling.rules.refusal import Refusal

from .problem import PlanProperty, RotationProblem, Seat


def property_of(problem: RotationProblem, seat: Seat) -> PlanProperty:
    return problem.property_by_id[problem.stand_by_id[seat.stand_id].property_id]


def seat_year(problem: RotationProblem, seat: Seat) -> int:
    """The calendar year in which the season's year of the seat's day begins there."""
    return year_of(seat.session.local_date, first_month=property_of(problem, seat).year_first_month)


def counted_together(problem: RotationProblem, seat: Seat, other: Seat) -> bool:
    """Whether the caps of the seat's property and year count the other's guests too."""
    return (
        property_of(problem, other) == property_of(problem, seat)
        and seat_year(problem, other) == seat_year(problem, seat)
        and problem.guests_counted(other) > 0
    )


def cap_refusals(
    problem: RotationProblem, seat: Seat, beside: Iterable[Seat] = ()
) -> Iterator[Refusal]:
    """What the caps say of a seat's guests, with those held and those of the seats ``beside``."""
    guests = problem.guests_counted(seat)
    place = property_of(problem, seat)
    if not guests or not (place.guest_sits_a_host or place.guest_sits_a_property):
        return
    year = seat_year(problem, seat)
    sits = [(host, count) for on, host, count in place.guest_sits_held if on == year]
    sits += [
        (other.member_id, problem.guests_counted(other))
        for other in beside
        if other.guest_ids and counted_together(problem, seat, other)
    ]
    yield from planned_refusals(
        guests=guests,
        sits_of_host=sum(count for host, count in sits if host == seat.member_id),
        sits_on_property=sum(count for _, count in sits),
        cap_of_host=place.guest_sits_a_host,
        cap_of_property=place.guest_sits_a_property,
        host_name="The member",
        property_name="the property",
    )

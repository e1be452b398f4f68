"""Several wishes of one member with the same guests, each with its own number of sits.

Each sit is given to one wish that asks for it. By Hall's theorem (P. Hall, On Representatives of
Subsets, 1935; from memory) that can be done exactly where, for each set of the wishes, the sits
for which nobody else asks are no more than these wishes together have. So no sit needs to name
its wish: a few sums over the member's seats say it all.
"""

from collections.abc import Iterable

from .problem import PlanWish, RotationProblem, Seat


def asking(problem: RotationProblem, wish: PlanWish, seat: Seat) -> int:
    """Which of the wish's asks the seat may be given to, as bits; all where none asks for it."""
    all_day = problem.is_of_whole_day(seat)
    found = sum(
        1 << number
        for number, ask in enumerate(wish.asks)
        if ask.asks_for(stand_id=seat.stand_id, session=seat.session, all_day=all_day)
    )
    return found or all_asks(wish)


def all_asks(wish: PlanWish) -> int:
    return (1 << len(wish.asks)) - 1


def sets_to_count(wish: PlanWish, masks: Iterable[int]) -> dict[int, int]:
    """The sets of asks that could be short, as bits, each with the sits they have together.

    Unions of overlapping ``masks``: of sets that share no sit each is counted alone. All asks
    together are the wish itself, which has its own row.
    """
    occurring = set(masks)
    found, new = set(occurring), occurring
    while new:
        new = {one | other for one in new for other in occurring if one & other} - found
        found |= new
    return {
        asks: sum(ask.sits_requested for number, ask in enumerate(wish.asks) if asks >> number & 1)
        for asks in sorted(found - {all_asks(wish)})
    }


def has_room(problem: RotationProblem, wish: PlanWish, taken: Iterable[Seat], seat: Seat) -> bool:
    """Whether one of the asks still lacks the seat, with the member's sits ``taken`` with the
    same guests; evenings of all-day sits not among them.
    """
    masks = [asking(problem, wish, one) for one in (*taken, seat)]
    return all(
        sum(not mask & ~asks for mask in masks) <= sits
        for asks, sits in sets_to_count(wish, masks).items()
        if not masks[-1] & ~asks
    )

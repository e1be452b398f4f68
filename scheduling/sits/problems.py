"""How a sit is refused: by the house rules, by the order of its life, by a seat just taken."""

from collections.abc import Iterable

from coop.api.problems import Problem, Refused
from scheduling.rules.refusal import Refusal


class WrongOrder(Problem):
    """A sit goes booked, checked in, checked out, reported; or cancelled, or missed."""

    code = "wrong_order"
    title = "Not in this order"


class SeatTaken(Problem):
    """Another request took the seat between the judgement and the writing."""

    code = "seat_taken"
    title = "Somebody was faster"


def refused(found: Iterable[Refusal]) -> Refused:
    """The problem that lists every objection, the first of them as its detail."""
    listed = [
        {
            "code": refusal.code,
            "sentence": refusal.sentence,
            "facts": dict(refusal.facts),
            "overrulable": refusal.overrulable,
        }
        for refusal in found
    ]
    more = f" ({len(listed) - 1} more)" if len(listed) > 1 else ""
    return Refused(f"{listed[0]['sentence']}{more}", refusals=listed)

"""Whether waiting can help: not where nothing is in the way, nor where no freed seat would help."""

from collections.abc import Sequence

from coop.api.problems import WrongOrder
from properties.land.units import UnitSystem
from scheduling.rules import member_limits
from scheduling.rules.refusal import Refusal
from scheduling.sits.overlaps import OVERLAP
from scheduling.sits.problems import refused
from scheduling.sits.seat_judgement import Judgement

OF_THE_SESSION = frozenset({"no_session", "session_over", "too_late", "too_far_ahead"})
"""That only time takes away, or nothing."""
OF_THE_PERSON = frozenset(
    {
        OVERLAP.code,
        member_limits.SESSION_CODE,
        member_limits.DAY_CODE,
        "weekly_limit",
        "no_role_here",
        "people_not_in_lease",
        "paper_missing",
        "paper_expired",
        "paper_not_yet_valid",
        "dues_open",
        "work_days_owed",
        "missed_sits",
        "missing_reports",
        "youth_alone",
        "youth_only_day",
        "youth_only_weapon",
    }
)
"""About who waits, whoever else gives up a seat."""
OF_THE_GROUND = frozenset(
    {
        "out_of_season",
        "weapon_not_permitted",
        "closed_weekday",
        "dark_day",
        "outside_lease",
        "weapon_not_in_lease",
        "setback",
        "danger_arc",
        "arc_crosses_line",
    }
)
"""About the day, the weapon and the stand's place on this property. A stand or ground that is
closed may open again, and the wind may turn: for those one waits, and is told of them
(``waiting_cautions``)."""
NEVER_WAITED_FOR = OF_THE_SESSION | OF_THE_PERSON | OF_THE_GROUND


def check_worth_waiting(judged: Sequence[Judgement], *, units: UnitSystem) -> None:
    """Raises :class:`WrongOrder` where a seat can be booked now, and :class:`Refused` with the
    rules' own objections, in ``units``, where each stand has one that no freed seat takes away."""
    for each in judged:
        if not each.objections:
            raise WrongOrder(f"Nothing objects to {each.stand.name}: book it now.")
    lasting = [_lasting(each) for each in judged]
    if all(lasting):
        raise refused(lasting[0], units=units)


def _lasting(judgement: Judgement) -> list[Refusal]:
    return [one for one in judgement.objections if one.code in NEVER_WAITED_FOR]

"""Whose seats a rule counts against one seat more."""

from scheduling.rotation.guests import counted_together
from scheduling.rotation.problem import PlanStand, Seat
from scheduling.rules import (
    capacity,
    exclusion,
    guest_caps,
    member_limits,
    own_claim,
    pressure,
    property_cap,
    rest,
    same_wind,
    weekly_limit,
)
from scheduling.rules.snapshot import monday_of

from .judged import JOINS_ALL_DAY_CODE
from .laid_out import LaidOutPlan


def in_the_way(plan: LaidOutPlan, seat: Seat, stand: PlanStand, code: str) -> tuple[Seat, ...]:
    """Seats of the plan that the rule ``code`` counts against ``seat``."""
    day = seat.session.local_date
    reach = {
        rest.CODE: stand.rest_days,
        same_wind.CODE: plan.problem.same_wind_window_days,
    }
    excluded = plan.excluded.get((stand.id, seat.session), {})

    def stands_in_the_way(other: Seat) -> bool:
        same_session = other.session == seat.session
        if code in reach:
            apart = abs((other.session.local_date - day).days)
            return other.stand_id == stand.id and apart < reach[code]
        place = plan.problem.stand_by_id[other.stand_id].property_id
        same_week = monday_of(other.session.local_date) == monday_of(day)
        own = other.member_id == seat.member_id
        counted = {
            exclusion.CODE: same_session and other.stand_id in excluded,
            capacity.CODE: same_session and other.stand_id == stand.id,
            JOINS_ALL_DAY_CODE: same_session and other.stand_id == stand.id,
            property_cap.CODE: same_session and place == stand.property_id,
            pressure.WEEK_BUDGET.code: same_week and place == stand.property_id,
            weekly_limit.WEEKLY_LIMIT.code: same_week and own,
            member_limits.TOTAL_CODE: own,
            own_claim.GUEST_CLAIM.code: same_session and bool({*seat.people} & {*other.people}),
            guest_caps.HOST_CAP.code: own and counted_together(plan.problem, seat, other),
            guest_caps.PROPERTY_CAP.code: counted_together(plan.problem, seat, other),
        }
        return counted.get(code, own and other.session.local_date == day)

    return tuple(other for other in plan.seats if stands_in_the_way(other))

"""A property bears so many uses of its stands in one week, Monday to Sunday."""

from collections.abc import Iterator, Sequence

import numpy as np

from properties.sessions.kinds import SessionKey
from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rows import BoolArray, IntArray, UseRows
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts, monday_of
from scheduling.rules.uses import Use
from scheduling.rules.weekly_limit import weeks_of

WEEK_BUDGET = Objection(
    code="pressure_budget",
    title="The property's week is spent",
    template=(
        "{property} bears {uses_a_week} uses of its stands a week, and {uses} are counted "
        "in the week of {week:%a %d %b %Y}."
    ),
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    budget = limits.house.uses_a_week
    joins = facts.use(proposal.stand_id, proposal.sessions[0]) is not None
    if budget == 0 or joins:
        return
    place = facts.property_of(facts.stand(proposal.stand_id))
    week = monday_of(proposal.local_date)
    uses = facts.counted_in_week(place.property_id, week)
    if uses >= budget:
        yield WEEK_BUDGET.refuse(property=place.name, uses_a_week=budget, uses=uses, week=week)


def planned_refusal(
    *,
    session: SessionKey,
    uses_on_property: Sequence[Use],
    is_used: bool,
    uses_a_week: int | None,
    property_name: str,
) -> Refusal | None:
    """Would one more use pass the budget of the session's week? None sets no budget.

    ``is_used`` says that the stand is used in that session anyway.
    """
    if not uses_a_week or is_used:
        return None
    week = monday_of(session.local_date)
    uses = sum(
        monday_of(use.session.local_date) == week and not use.continues_morning
        for use in uses_on_property
    )
    if uses < uses_a_week:
        return None
    return WEEK_BUDGET.refuse(property=property_name, uses_a_week=uses_a_week, uses=uses, week=week)


def rows(
    *,
    stand_ids: Sequence[str],
    stand_property: IntArray,
    sessions: Sequence[SessionKey],
    offered: BoolArray,
    uses_a_week: IntArray,
    uses: Sequence[Use],
) -> UseRows:
    """A row for each property and week whose offered uses could exceed its budget.

    ``stand_property`` has shape (stands,); ``offered`` of shape (stands, sessions) says which
    uses could be planned and count as one; ``uses_a_week`` of shape (properties,) is 0 where
    there is no budget. ``uses`` lie outside the planned sessions, and each must be of a stand
    that is listed; a limit is never below 0.
    """
    weeks, session_week = weeks_of(sessions)
    left = np.repeat(uses_a_week[:, None], len(weeks), axis=1)
    property_of = dict(zip(stand_ids, stand_property.tolist(), strict=True))
    place_of_week = {int(week): place for place, week in enumerate(weeks)}
    for use in uses:
        place = place_of_week.get(monday_of(use.session.local_date).toordinal())
        if place is not None and not use.continues_morning:
            left[property_of[use.stand_id], place] -= 1
    left = np.maximum(left, 0)
    stand, session = np.nonzero(offered & (uses_a_week[stand_property] > 0)[:, None])
    group = stand_property[stand] * len(weeks) + session_week[session]
    binding = np.bincount(group, minlength=left.size) > left.ravel()
    number = np.cumsum(binding) - 1
    kept = binding[group]
    return UseRows(
        code=WEEK_BUDGET.code,
        row=number[group[kept]].astype(np.int64),
        stand=stand[kept].astype(np.int64),
        session=session[kept].astype(np.int64),
        weight=np.ones(int(kept.sum()), dtype=np.int64),
        limit=left.ravel()[binding].astype(np.int64),
    )


RULE = Rule(
    title="The property's pressure budget",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(WEEK_BUDGET,),
    settings=("house_rules/uses_a_week",),
    judge=judge,
)

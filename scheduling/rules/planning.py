"""The rules that weigh a proposal against other sits, as booking meets them.

Each asks the rule's own file, which also gives the plan its rows. An all-day sit is one
use, in its morning: its evening takes places, and is not counted again.
"""

from collections.abc import Iterator

from scheduling.rules import (
    capacity,
    danger_arcs,
    exclusion,
    member_limits,
    property_cap,
    rest,
    same_wind,
)
from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts


def judge_rest(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand_id, rest_days = proposal.stand_id, limits.house.rest_days
    reach_days = max(rest_days, facts.longest_rest_asked(stand_id))
    refusal = rest.refusal(
        stand_id=stand_id,
        session=proposal.sessions[0],
        uses=facts.uses_around(stand_id, proposal.local_date, days=reach_days),
        rest_days=rest_days,
    )
    if refusal is not None:
        yield refusal


def judge_same_wind(
    proposal: SitProposal, facts: BookingFacts, limits: Limits
) -> Iterator[Refusal]:
    session, window_days = proposal.sessions[0], limits.house.same_wind_window_days
    fit = facts.fit(proposal.stand_id, session)
    if fit is None:
        return
    refusal = same_wind.refusal(
        stand_id=proposal.stand_id,
        session=session,
        sector_per_mille=fit.sector_per_mille,
        uses=facts.uses_around(proposal.stand_id, proposal.local_date, days=window_days),
        cap=limits.house.same_wind_cap + limits.house.same_wind_excess,
        window_days=window_days,
    )
    if refusal is not None:
        yield refusal


def judge_capacity(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    for session in proposal.sessions:
        refusal = capacity.refusal(
            stand_id=stand.stand_id,
            session=session,
            uses=facts.uses_around(stand.stand_id, proposal.local_date, days=0),
            capacity=stand.seats,
            hunters=proposal.seats,
        )
        if refusal is not None:
            yield refusal


def judge_property_cap(
    proposal: SitProposal, facts: BookingFacts, limits: Limits
) -> Iterator[Refusal]:
    property_id = facts.stand(proposal.stand_id).property_id
    for session in proposal.sessions:
        refusal = property_cap.refusal(
            session=session,
            uses_on_property=facts.uses_on(property_id, session),
            cap=limits.house.hunters_a_session or None,
            hunters=proposal.seats,
        )
        if refusal is not None:
            yield refusal


def judge_exclusion(
    proposal: SitProposal, facts: BookingFacts, limits: Limits
) -> Iterator[Refusal]:
    for session in proposal.sessions:
        if not facts.is_used(session):
            continue
        excluded = {
            **facts.excluded_with(proposal.stand_id, session),
            **danger_arcs.endangering(proposal, facts, session),
        }
        for other_id in sorted(excluded):
            use = facts.use(other_id, session)
            if use is None:
                continue
            refusal = exclusion.refusal(session=session, uses=(use,), excluded=excluded)
            if refusal is not None:
                yield refusal


def judge_day_limit(
    proposal: SitProposal, facts: BookingFacts, limits: Limits
) -> Iterator[Refusal]:
    refusal = member_limits.day_refusal(
        session=proposal.sessions[0],
        own_uses=facts.own_uses(proposal.member_id),
        sits_per_day=limits.house.sits_a_day,
    )
    if refusal is not None:
        yield refusal


REST = Rule(
    title="The stand rests",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(
        Objection(
            code=rest.CODE,
            title="Stand resting",
            template="This stand rests: one use in any {rest_days}, and {why}.",
            overrulable=True,
        ),
    ),
    settings=("house_rules/rest_days",),
    judge=judge_rest,
)
SAME_WIND = Rule(
    title="Not too often on the same wind",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(
        Objection(
            code=same_wind.CODE,
            title="Used too often on this wind",
            template=(
                "This stand is used at most {cap} in any {window_days} on one wind. "
                "On a {wind} wind {counted} are counted already, and the forecast gives that "
                "wind a chance of {chance} %."
            ),
            overrulable=True,
        ),
    ),
    settings=(
        "house_rules/same_wind_cap",
        "house_rules/same_wind_excess",
        "house_rules/same_wind_window_days",
    ),
    judge=judge_same_wind,
)
CAPACITY = Rule(
    title="Places in the stand",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(
        Objection(
            code=capacity.CODE,
            title="Stand full",
            template="This stand has {places}; {hunters} would not fit.",
        ),
    ),
    settings=(),
    judge=judge_capacity,
)
PROPERTY_CAP = Rule(
    title="Hunters on the property",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    one_for_property=True,
    objections=(
        Objection(
            code=property_cap.CODE,
            title="Property full",
            template=(
                "This property takes {cap} a session, and {hunters_there} booked for {session}."
            ),
        ),
    ),
    settings=("house_rules/hunters_a_session",),
    judge=judge_property_cap,
)
EXCLUSION = Rule(
    title="Stands that endanger or spoil each other",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    objections=(
        Objection(
            code=exclusion.CODE,
            title="A neighbouring stand is in use",
            template=(
                "Stand {stand} is in use in {session}, and the two are not used together: "
                "their lines of fire or their scent cross."
            ),
        ),
    ),
    settings=(),
    judge=judge_exclusion,
)
DAY_LIMIT = Rule(
    title="Sits of a member in a day",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.SITS,
    one_for_property=True,
    objections=(
        Objection(
            code=member_limits.DAY_CODE,
            title="Daily limit",
            template="The limit is {limit} a day, and you have {sits} on {day}.",
            overrulable=True,
        ),
    ),
    settings=("house_rules/sits_a_day",),
    judge=judge_day_limit,
)
REQUESTED_TOTAL = Rule(
    title="As many sits as asked for",
    applies_to=AppliesTo.PLANNING,
    looks_at=LooksAt.SITS,
    objections=(
        Objection(
            code=member_limits.TOTAL_CODE,
            title="All requested sits given",
            template="You asked for {requested} and have {sits}.",
            overrulable=True,
        ),
    ),
    settings=(),
    judge=None,
)

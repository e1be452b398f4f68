"""Weather in which stands close: gusts, thunder, fire danger, water, ice."""

from collections.abc import Iterator

from scheduling.rules.facts import SessionFacts, SitProposal, StandFacts
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule, at_stand
from scheduling.rules.snapshot import BookingFacts

GUST = Objection(
    code="gust_above_limit",
    title="Gusts too strong for an elevated stand",
    template=(
        "Gusts of {gust_mps:speed} are forecast at {stand} for the {session} of "
        "{local_date:%a %d %b %Y}; elevated stands close above {limit_mps:speed}."
    ),
)
THUNDER = Objection(
    code="thunder_expected",
    title="Thunder expected",
    template=(
        "The chance of thunder at {stand} in the {session} of {local_date:%a %d %b %Y} is "
        "{chance:.0%}; stands close from {limit:.0%}."
    ),
)
FIRE_DANGER = Objection(
    code="fire_danger",
    title="Fire danger",
    template=(
        "Fire danger at {stand} is at level {level} for the {session} of "
        "{local_date:%a %d %b %Y}; stands close from level {limit}."
    ),
)
FLOOD = Objection(
    code="flood_expected",
    title="High water",
    template=(
        "Water is forecast at {stage_m:height} in the {session} of {local_date:%a %d %b %Y}; "
        "{stand} or its route floods at {flood_stage_m:height} and closes {margin_m:height} below."
    ),
)

ICE = Objection(
    code="ice_reported",
    title="Ice on an elevated stand",
    template=(
        "Ice on ladders and steps is reported for the {session} of {local_date:%a %d %b %Y}; "
        "by this property's settings {stand}, which is climbed, closes."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    for there in facts.sessions_of(proposal):
        fit = facts.fit(stand.stand_id, there.session)
        gust_mps = fit.gust_mps if fit is not None else None
        yield from _wind_and_thunder(stand, there, gust_mps, limits)
        yield from _fire_and_water(stand, there, limits)
        if there.has_ice and stand.is_elevated and limits.house.ice_closes_elevated:
            yield ICE.refuse(**at_stand(stand, there.session))


def _wind_and_thunder(
    stand: StandFacts, there: SessionFacts, gust_mps: float | None, limits: Limits
) -> Iterator[Refusal]:
    limit_mps = limits.house.gust_limit_mps
    if stand.is_elevated and gust_mps is not None and gust_mps > limit_mps:
        yield GUST.refuse(**at_stand(stand, there.session), gust_mps=gust_mps, limit_mps=limit_mps)
    chance, limit = there.thunder_chance, limits.house.thunder_chance_limit
    if chance is not None and chance >= limit:
        yield THUNDER.refuse(**at_stand(stand, there.session), chance=chance, limit=limit)


def _fire_and_water(stand: StandFacts, there: SessionFacts, limits: Limits) -> Iterator[Refusal]:
    level, limit = there.fire_danger, limits.house.fire_danger_limit
    if level is not None and level >= limit:
        yield FIRE_DANGER.refuse(**at_stand(stand, there.session), level=level, limit=limit)
    stage_m, flood_stage_m = there.river_stage_m, stand.flood_stage_m
    margin_m = limits.house.flood_margin_m
    if stage_m is None or flood_stage_m is None:
        return
    if stage_m >= flood_stage_m - margin_m:
        yield FLOOD.refuse(
            **at_stand(stand, there.session),
            stage_m=stage_m,
            flood_stage_m=flood_stage_m,
            margin_m=margin_m,
        )


RULE = Rule(
    title="Weather limits",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    objections=(GUST, THUNDER, FIRE_DANGER, FLOOD, ICE),
    settings=(
        "house_rules/gust_limit_mps",
        "house_rules/thunder_chance_limit",
        "house_rules/fire_danger_limit",
        "house_rules/flood_margin_m",
        "house_rules/ice_closes_elevated",
    ),
    judge=judge,
)

"""What a stand and its shooting arc keep clear of: houses, roads, lines, sanctuaries.

A stand without a recorded arc is taken to shoot all around, and a proposal without a named
weapon is taken to bring the farthest-reaching one that the season allows.
"""

from collections.abc import Callable, Iterator, Mapping

from properties.people.weapons import Weapon
from scheduling.rules.arcs import spans_meet
from scheduling.rules.facts import HazardFacts, HazardKind, SitProposal, StandFacts
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.season import weapons_permitted
from scheduling.rules.settings import HouseRuleSettings
from scheduling.rules.snapshot import BookingFacts

SETBACK = Objection(
    code="setback",
    title="Too near to a house, road, hazard, boundary or sanctuary",
    template=(
        "{stand} stands {distance_m:distance} from {name} ({kind}); "
        "this property's settings keep {setback_m:distance}."
    ),
)
DANGER_ARC = Objection(
    code="danger_arc",
    title="People may be in the danger arc",
    template=(
        "{name} ({kind}) lies {distance_m:distance} from {stand} within {arc}; with a {weapon} "
        "this property's settings count {danger_distance_m:distance} as endangered."
    ),
)
ARC_CROSSES_LINE = Objection(
    code="arc_crosses_line",
    title="Shooting arc crosses a boundary or sanctuary",
    template=(
        "{name} ({kind}) lies {distance_m:distance} from {stand} within {arc}, "
        "nearer than its longest shot of {longest_shot_m:distance}."
    ),
)

_LINES = (HazardKind.BOUNDARY, HazardKind.SANCTUARY)
_SETBACK_M: Mapping[HazardKind, Callable[[HouseRuleSettings], float]] = {
    HazardKind.HOUSE: lambda house: house.house_setback_m,
    HazardKind.ROAD: lambda house: house.road_setback_m,
    HazardKind.HAZARD: lambda house: house.hazard_setback_m,
    HazardKind.BOUNDARY: lambda house: house.boundary_setback_m,
    HazardKind.SANCTUARY: lambda house: house.sanctuary_setback_m,
}


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    stand = facts.stand(proposal.stand_id)
    if not stand.hazards:
        return
    for hazard in sorted(stand.hazards, key=lambda near: (near.distance_m, near.kind, near.name)):
        yield from _too_near(stand, hazard, limits.house)
        if not _in_arc(stand, hazard):
            continue
        if hazard.kind in _LINES:
            yield from _across_line(stand, hazard)
        elif not _is_stopped(hazard, limits.house):
            yield from _endangered(stand, hazard, *_farthest_weapon(proposal, facts, limits.house))


def _too_near(
    stand: StandFacts, hazard: HazardFacts, house: HouseRuleSettings
) -> Iterator[Refusal]:
    setback_m = _SETBACK_M[hazard.kind](house)
    if hazard.distance_m < setback_m:
        yield SETBACK.refuse(
            stand=stand.name,
            name=hazard.name,
            kind=hazard.kind.value,
            distance_m=hazard.distance_m,
            setback_m=setback_m,
        )


def _across_line(stand: StandFacts, hazard: HazardFacts) -> Iterator[Refusal]:
    distance_m = _distance_in_arc_m(hazard)
    if distance_m < stand.longest_shot_m:
        yield ARC_CROSSES_LINE.refuse(
            stand=stand.name,
            name=hazard.name,
            kind=hazard.kind.value,
            distance_m=distance_m,
            arc=_shown_arc(stand),
            longest_shot_m=stand.longest_shot_m,
        )


def _endangered(
    stand: StandFacts, hazard: HazardFacts, weapon: str, danger_distance_m: float
) -> Iterator[Refusal]:
    distance_m = _distance_in_arc_m(hazard)
    if distance_m < danger_distance_m:
        yield DANGER_ARC.refuse(
            stand=stand.name,
            name=hazard.name,
            kind=hazard.kind.value,
            distance_m=distance_m,
            arc=_shown_arc(stand),
            weapon=weapon,
            danger_distance_m=danger_distance_m,
        )


def _farthest_weapon(
    proposal: SitProposal, facts: BookingFacts, house: HouseRuleSettings
) -> tuple[str, float]:
    """The weapon to reckon with and its danger distance in metres."""
    if proposal.weapon is not None:
        return str(proposal.weapon), danger_distance_m(proposal.weapon, house)
    place = facts.property_of(facts.stand(proposal.stand_id))
    permitted = weapons_permitted(place, proposal.local_date) or {Weapon.RIFLE.value}
    return max(
        ((str(weapon), danger_distance_m(weapon, house)) for weapon in permitted),
        key=lambda reach: (reach[1], reach[0]),
    )


def danger_distance_m(weapon: str, house: HouseRuleSettings) -> float:
    """How far ``weapon`` is taken to endanger people, in metres; the rifle's where unknown."""
    if weapon in (Weapon.BOW, Weapon.CROSSBOW):
        return house.danger_distance_bow_m
    if weapon in (Weapon.SHOTGUN, Weapon.MUZZLELOADER):
        return house.danger_distance_shotgun_m
    return house.danger_distance_rifle_m


def _in_arc(stand: StandFacts, hazard: HazardFacts) -> bool:
    arc = stand.shooting_arc
    if arc is None or arc.from_bearing_deg == arc.to_bearing_deg:
        return True
    return spans_meet(
        (arc.from_bearing_deg, arc.to_bearing_deg),
        (hazard.from_bearing_deg, hazard.to_bearing_deg),
    )


def _distance_in_arc_m(hazard: HazardFacts) -> float:
    return hazard.distance_m if hazard.nearest_in_arc_m is None else hazard.nearest_in_arc_m


def _is_stopped(hazard: HazardFacts, house: HouseRuleSettings) -> bool:
    if hazard.kind is HazardKind.HOUSE:
        return False
    return hazard.has_backstop and house.backstop_lifts_danger_arc


def _shown_arc(stand: StandFacts) -> str:
    arc = stand.shooting_arc
    if arc is None:
        return "the full circle (no shooting arc is recorded)"
    return f"its shooting arc from {arc.from_bearing_deg:.0f}° to {arc.to_bearing_deg:.0f}°"


RULE = Rule(
    title="Setbacks and the danger arc",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    objections=(SETBACK, DANGER_ARC, ARC_CROSSES_LINE),
    settings=(
        "house_rules/house_setback_m",
        "house_rules/road_setback_m",
        "house_rules/hazard_setback_m",
        "house_rules/boundary_setback_m",
        "house_rules/sanctuary_setback_m",
        "house_rules/danger_distance_bow_m",
        "house_rules/danger_distance_shotgun_m",
        "house_rules/danger_distance_rifle_m",
        "house_rules/backstop_lifts_danger_arc",
    ),
    judge=judge,
)

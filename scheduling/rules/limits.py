"""The limits that hold for one stand: house rules and the wind's floor, layers resolved."""

from dataclasses import dataclass, field

from scheduling.rules.settings import HouseRuleSettings


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a proposal is judged against.

    ``fit_floor`` and ``worst_place_cap`` are shares 0..1 and belong to the settings of
    the wind; whoever calls reads them there.
    """

    fit_floor: float
    worst_place_cap: float
    house: HouseRuleSettings = field(default_factory=HouseRuleSettings)

"""A condition in plain words."""

from zoneinfo import ZoneInfo

from properties.conditions.models import Condition, ConditionKind
from properties.land.units import Quantity, UnitSystem, show


def condition_words(condition: Condition, units: UnitSystem = UnitSystem.METRIC) -> str:
    """What is told, from when until when by the property's clock, and where it is known from."""
    zone = ZoneInfo(condition.property.time_zone)
    begins = f"{condition.starts_at.astimezone(zone):%a %d %b %H:%M %Z}"
    ends = (
        f"until {condition.ends_at.astimezone(zone):%a %d %b %H:%M %Z}"
        if condition.ends_at
        else "until further notice"
    )
    return f"{_what(condition, units)} from {begins} {ends} ({condition.source})"


def _what(condition: Condition, units: UnitSystem) -> str:
    if condition.kind == ConditionKind.THUNDER:
        if condition.thunder_chance == 1:
            return "A warning of thunder and lightning"
        return f"A chance of thunder of {condition.thunder_chance:.0%}"
    if condition.kind == ConditionKind.FIRE_DANGER:
        return f"Fire danger at level {condition.fire_danger_level} of 5"
    if condition.water_level_m is not None:
        level = show(condition.water_level_m, Quantity.HEIGHT, units, decimals=1)
        return f"Water at {level.text}"
    return "Ice on ladders, steps and platforms"

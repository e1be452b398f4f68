"""A condition in plain words."""

from zoneinfo import ZoneInfo

from properties.conditions.models import Condition, ConditionKind


def condition_words(condition: Condition) -> str:
    """What is told, from when until when by the property's clock, and where it is known from."""
    zone = ZoneInfo(condition.property.time_zone)
    begins = f"{condition.starts_at.astimezone(zone):%a %d %b %H:%M %Z}"
    ends = (
        f"until {condition.ends_at.astimezone(zone):%a %d %b %H:%M %Z}"
        if condition.ends_at
        else "until further notice"
    )
    return f"{_what(condition)} from {begins} {ends} ({condition.source})"


def _what(condition: Condition) -> str:
    if condition.kind == ConditionKind.THUNDER:
        if condition.thunder_chance == 1:
            return "A warning of thunder and lightning"
        return f"A chance of thunder of {condition.thunder_chance:.0%}"
    if condition.kind == ConditionKind.FIRE_DANGER:
        return f"Fire danger at level {condition.fire_danger_level} of 5"
    if condition.kind == ConditionKind.WATER:
        return f"Water at {condition.water_level_m:.1f} m"
    return "Ice on ladders, steps and platforms"

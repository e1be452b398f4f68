"""When a session begins and ends, as the cooperative or the property sets it."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class SessionSettings:
    """All defaults are common practice, no source. None of them is a statement of law:
    hours in which hunting is allowed are set by the state, for each game."""

    shooting_light_before_sunrise_min: float = setting(
        30.0,
        unit="min",
        minimum=-120,
        maximum=60,
        description=(
            "How long before sunrise this property lets hunting begin; negative for after "
            "sunrise. Set it from the state's own rule. Common practice, no source."
        ),
    )
    shooting_light_after_sunset_min: float = setting(
        30.0,
        unit="min",
        minimum=-120,
        maximum=60,
        description=(
            "How long after sunset this property lets hunting go on; negative for before "
            "sunset. Set it from the state's own rule. Common practice, no source."
        ),
    )
    walk_in_min: float = setting(
        45.0,
        unit="min",
        minimum=0,
        maximum=240,
        description=(
            "How long before the hunt a session begins with the walk in, so that the hunter "
            "sits still in time. Common practice, no source."
        ),
    )
    walk_out_min: float = setting(
        45.0,
        unit="min",
        minimum=0,
        maximum=240,
        description=(
            "How long after the hunt a session ends, with the walk out. Common practice, no source."
        ),
    )
    morning_hunt_after_sunrise_h: float = setting(
        4.0,
        unit="h",
        minimum=0.5,
        maximum=12,
        description="How long after sunrise a morning hunt lasts. Common practice, no source.",
    )
    evening_hunt_before_sunset_h: float = setting(
        3.0,
        unit="h",
        minimum=0.5,
        maximum=12,
        description="How long before sunset an evening hunt begins. Common practice, no source.",
    )

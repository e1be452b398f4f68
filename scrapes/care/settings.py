"""Settings of scent on a scrape: how it fades, and when an effect can be told."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class CareSettings:
    """Wash-out of scent, and what it takes to speak of a refresh's effect."""

    washout_rain_mm: float = setting(
        20.0,
        unit="mm",
        minimum=1,
        maximum=200,
        description="Rain that removes what was applied. Common practice, no source.",
    )
    half_life_days: float = setting(
        7.0,
        unit="d",
        minimum=0.5,
        maximum=90,
        description="Without rain half of what was applied is gone after this long. Common "
        "practice, no source.",
    )
    effect_minimum_visits: int = setting(
        10,
        minimum=2,
        maximum=1000,
        description="With fewer visits, before and after together, nothing is said about a "
        "refresh. Common practice, no source.",
    )
    effect_widest_interval: float = setting(
        8.0,
        minimum=1.5,
        maximum=1000,
        description="An interval whose upper limit is more than this many times its lower one "
        "says too little to be read. Common practice, no source.",
    )

"""Settings of scent on a scrape: what is permitted, how it fades, when an effect can be told."""

from dataclasses import dataclass

from properties.land.settings import InvalidSetting, setting


@dataclass(frozen=True, kw_only=True)
class CareSettings:
    """What may be applied, wash-out, reviews, and what it takes to speak of an effect."""

    permitted_scents: tuple[str, ...] = setting(
        (),
        description="The only scents that may be applied here, by name, as the manager read the "
        "state's rules and the lease. Some states forbid natural urine, feed or minerals, more so "
        "where there is disease. Nothing is permitted until somebody has looked it up.",
    )

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
    effect_days: float = setting(
        14.0,
        unit="d",
        minimum=3,
        maximum=60,
        description="Visits are compared over this long before and after a refresh. Common "
        "practice, no source.",
    )
    review_hour: int = setting(
        10,
        unit="local hour",
        minimum=0,
        maximum=23,
        description="Hour from which the scrapes of a property are reviewed each day.",
    )
    ask_again_after_days: int = setting(
        14,
        unit="d",
        minimum=1,
        maximum=120,
        description="While a finding lasts, somebody is sent or told once in this time. Common "
        "practice, no source.",
    )
    refresh_rest_days: float = setting(
        14.0,
        unit="d",
        minimum=0,
        maximum=60,
        description="After scent was applied no other refresh is asked for in this time: first "
        "see what it did. Common practice, no source.",
    )
    people_days: int = setting(
        30,
        unit="d",
        minimum=1,
        maximum=365,
        description="Days over which people at a scrape are counted: pressure, which no rain "
        "washes out. Common practice, no source.",
    )

    def __post_init__(self) -> None:
        for name in self.permitted_scents:
            if not isinstance(name, str) or not 0 < len(name.strip()) <= 60:
                raise InvalidSetting("care/permitted_scents", "must be a list of names, not empty")

"""What a figure of the herd needs before it is told."""

from dataclasses import dataclass

from properties.land.settings import setting

GROUP = "herd"


@dataclass(frozen=True, kw_only=True)
class HerdSettings:
    """What a cooperative or property may change about figures of its herd."""

    fewest_sits: int = setting(
        5,
        minimum=2,
        maximum=100,
        description="Fewest reported sits of a period of which a rate with limits is told. "
        "Common practice, no source.",
    )
    fewest_periods: int = setting(
        3,
        minimum=2,
        maximum=20,
        description="Fewest periods with enough sits over which a trend is told. "
        "Common practice, no source.",
    )
    hectares_per_camera: float = setting(
        65.0,
        unit="ha",
        minimum=1,
        maximum=1_000,
        description="A survey with more ground for each camera is told to have few of them. "
        "65 ha after Jacobson et al. 1997.",
    )
    survey_days: int = setting(
        14,
        unit="d",
        minimum=1,
        maximum=90,
        description="A shorter survey is told to be short. 14 days as in the Mississippi survey "
        "of 1993 whose figures check the arithmetic.",
    )
    fewest_bucks: int = setting(
        5,
        minimum=1,
        maximum=100,
        description="A survey with fewer bucks told apart is told to rest on few: one more or "
        "less moves every figure. Common practice, no source.",
    )

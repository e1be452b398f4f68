"""Settings of fitting the season's curve to visits: how firmly practice is held against them."""

from dataclasses import dataclass

from properties.land.settings import setting


@dataclass(frozen=True, kw_only=True)
class SeasonFitSettings:
    """How much must be seen, and how far a fitted figure may stray from the setting."""

    use_fit: bool = setting(
        True,
        description="Expect what the cooperative's own visits taught, once there are enough. A "
        "property that sets a figure of its own curve keeps its own curve.",
    )
    fit_days: int = setting(
        1095,
        unit="d",
        minimum=60,
        maximum=3650,
        description="How far back visits teach the curve. Common practice, no source.",
    )
    minimum_visits: int = setting(
        300,
        minimum=20,
        maximum=100_000,
        description="With fewer visits the settings' curve is expected, whatever was fitted. "
        "Common practice, no source.",
    )
    minimum_scrapes: int = setting(
        3,
        minimum=1,
        maximum=100,
        description="... or from fewer scrapes: one that is left by its deer must not bend the "
        "curve it is judged by. Common practice, no source.",
    )
    day_spread: float = setting(
        7.0,
        unit="d",
        minimum=0.5,
        maximum=60,
        description="Days by which the lead, and the second burst, may well differ from the "
        "setting (one standard deviation). Published leads differ by three weeks.",
    )
    width_spread: float = setting(
        1.4,
        unit="times",
        minimum=1.05,
        maximum=5,
        description="Factor by which climb, fall and second burst may well be wider or narrower "
        "than the setting (one standard deviation). Common practice, no source.",
    )
    level_spread: float = setting(
        2.0,
        unit="times",
        minimum=1.05,
        maximum=10,
        description="Factor by which the second height and the off-season level may well differ "
        "from the setting (one standard deviation). Common practice, no source.",
    )

"""Settings of the rotation plan, resolved for the cooperative."""

from dataclasses import dataclass

from properties.land.settings import setting

GROUP = "rotation"


@dataclass(frozen=True, kw_only=True)
class RotationSettings:
    """How far a plan reaches, how long it may be sought, and what it weighs."""

    horizon_days: int = setting(
        14,
        unit="d",
        minimum=1,
        maximum=60,
        description="How many days a plan covers. Common practice, no source.",
    )
    time_limit_s: float = setting(
        60.0,
        unit="s",
        minimum=1,
        maximum=3_600,
        description="Longest time a plan is sought; the best one found by then is kept, with "
        "how far from the best possible it can be at most.",
    )
    seed: int = setting(
        1,
        minimum=0,
        maximum=2_147_483_647,
        description="Settles ties: the same wishes and the same seed give the same plan.",
    )
    freeze_days: float = setting(
        2.0,
        unit="d",
        minimum=0,
        maximum=14,
        description="Sits of a published plan that begin sooner than this never move. Common "
        "practice, no source.",
    )
    settle_minutes: float = setting(
        10.0,
        unit="min",
        minimum=0,
        maximum=720,
        description="A draft is computed so long after the first new forecast or closure, so "
        "that the news of a group's properties is planned at once. Common practice, no source.",
    )
    quality_prior_sits: float = setting(
        6.0,
        unit="sits",
        minimum=0.5,
        maximum=100,
        description="How many ordinary sits a stand's own sightings are set against before they "
        "count fully. Common practice, no source.",
    )
    same_wind_excess_price: int = setting(
        40,
        unit="quality",
        minimum=0,
        maximum=1_000,
        description="What each begun half of a use beyond a soft same-wind cap costs a plan, in "
        "percent of a sit's full quality. Common practice, no source.",
    )
    opener_percent: int = setting(
        150,
        unit="%",
        minimum=0,
        maximum=1_000,
        description="How much a sit on a season's first days counts toward what its member "
        "received, against 100 on an ordinary day. Common practice, no source.",
    )
    rut_percent: int = setting(
        130,
        unit="%",
        minimum=0,
        maximum=1_000,
        description="How much a sit in the rut counts toward what its member received, "
        "against 100 on an ordinary day. Common practice, no source.",
    )
    weekend_percent: int = setting(
        120,
        unit="%",
        minimum=0,
        maximum=1_000,
        description="How much a sit on a prime weekday counts toward what its member received, "
        "against 100 on an ordinary day. Common practice, no source.",
    )
    stability_share: float = setting(
        0.01,
        minimum=0,
        maximum=1,
        description="Share of a plan's total quality, and of the worst-served member's, that "
        "may be given up to keep sits already published where they are. Common practice, "
        "no source.",
    )

"""What is plausible of a deer, and what a figure needs before it is told."""

from dataclasses import dataclass

from properties.land.settings import InvalidSetting, setting

GROUP = "harvest"

_SPANS = (
    "dressed_weight_kg",
    "age_years",
    "beam_length_mm",
    "base_circumference_mm",
    "inside_spread_mm",
    "antler_points",
)
_SPAN_WORDS = (
    "Four rising numbers: below the first or above the last it is refused as a slip of the "
    "pen, outside the middle two it is kept with a question. Common practice, no source."
)


@dataclass(frozen=True, kw_only=True)
class HarvestSettings:
    """What a cooperative or property may change about harvest data. All common practice."""

    dressed_weight_kg: tuple[float, ...] = setting(
        (3.0, 12.0, 110.0, 180.0),
        unit="kg",
        description=f"Dressed weight of a deer. {_SPAN_WORDS}",
    )
    age_years: tuple[float, ...] = setting(
        (0.0, 0.5, 10.5, 25.0), unit="a", description=f"Age of a deer. {_SPAN_WORDS}"
    )
    beam_length_mm: tuple[float, ...] = setting(
        (10.0, 50.0, 700.0, 1000.0),
        unit="mm",
        description=f"Length of the longer main beam. {_SPAN_WORDS}",
    )
    base_circumference_mm: tuple[float, ...] = setting(
        (10.0, 30.0, 160.0, 250.0),
        unit="mm",
        description=f"Circumference of an antler at its base. {_SPAN_WORDS}",
    )
    inside_spread_mm: tuple[float, ...] = setting(
        (10.0, 50.0, 650.0, 1000.0),
        unit="mm",
        description=f"Widest inside spread of the main beams. {_SPAN_WORDS}",
    )
    antler_points: tuple[float, ...] = setting(
        (0.0, 1.0, 20.0, 80.0), description=f"Points of both antlers together. {_SPAN_WORDS}"
    )
    fawn_until_years: float = setting(
        1.0,
        unit="a",
        minimum=0.5,
        maximum=1.5,
        description="Younger than this a deer is a fawn: weighed by itself, and not expected to "
        "be in milk. Common practice, no source.",
    )
    fawn_weight_until_kg: float = setting(
        45.0,
        unit="kg",
        minimum=5,
        maximum=100,
        description="A heavier dressed fawn is kept with a question. Common practice, no source.",
    )
    fewest_for_mean: int = setting(
        5,
        minimum=2,
        maximum=100,
        description="Fewest deer of an age of which a mean weight is told; of fewer it is said "
        "that they are too few to tell. Common practice, no source.",
    )
    place_kept_after_sit_h: float = setting(
        24.0,
        unit="h",
        minimum=0,
        maximum=168,
        description="How long a place of the plan stays kept for who has checked out and not yet "
        "reported: their deer may not be told yet. 0: until check-out. "
        "Common practice, no source.",
    )

    def __post_init__(self) -> None:
        for name in _SPANS:
            span = getattr(self, name)
            numbers = all(isinstance(one, int | float) for one in span)
            if len(span) != 4 or not numbers or list(span) != sorted(span):
                raise InvalidSetting(f"{GROUP}/{name}", "must be four rising numbers")

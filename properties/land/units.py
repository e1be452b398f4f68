"""Units that people read, and the SI units that are stored.

The factors are exact by definition: the yard and pound agreement of 1959 (yard, foot,
inch, mile and the acre that follows) and the nautical mile of 1852 m.
"""

from dataclasses import dataclass
from enum import StrEnum

METRES_PER_INCH = 0.0254
METRES_PER_FOOT = 0.3048
METRES_PER_YARD = 0.9144
SQUARE_METRES_PER_ACRE = 4046.8564224
SQUARE_METRES_PER_HECTARE = 10_000.0
METRES_PER_SECOND_PER_MILE_PER_HOUR = 0.44704
METRES_PER_SECOND_PER_KNOT = 1852 / 3600
MILLIMETRES_PER_INCH = 25.4


class UnitSystem(StrEnum):
    """What a person's profile asks to read."""

    US = "us"
    METRIC = "metric"


class Quantity(StrEnum):
    """What is measured, with the unit in which it is stored."""

    DISTANCE = "distance"  # m
    HEIGHT = "height"  # m
    AREA = "area"  # m²
    SPEED = "speed"  # m/s
    RAIN = "rain"  # mm
    TEMPERATURE = "temperature"  # °C


@dataclass(frozen=True, kw_only=True)
class _Scale:
    symbol: str
    size: float
    decimals: int
    zero: float = 0.0


_SCALES: dict[tuple[UnitSystem, Quantity], _Scale] = {
    (UnitSystem.US, Quantity.DISTANCE): _Scale(symbol="yd", size=METRES_PER_YARD, decimals=0),
    (UnitSystem.US, Quantity.HEIGHT): _Scale(symbol="ft", size=METRES_PER_FOOT, decimals=0),
    (UnitSystem.US, Quantity.AREA): _Scale(symbol="acre", size=SQUARE_METRES_PER_ACRE, decimals=1),
    (UnitSystem.US, Quantity.SPEED): _Scale(
        symbol="mph", size=METRES_PER_SECOND_PER_MILE_PER_HOUR, decimals=0
    ),
    (UnitSystem.US, Quantity.RAIN): _Scale(symbol="in", size=MILLIMETRES_PER_INCH, decimals=2),
    (UnitSystem.US, Quantity.TEMPERATURE): _Scale(symbol="°F", size=5 / 9, decimals=0, zero=32.0),
    (UnitSystem.METRIC, Quantity.DISTANCE): _Scale(symbol="m", size=1.0, decimals=0),
    (UnitSystem.METRIC, Quantity.HEIGHT): _Scale(symbol="m", size=1.0, decimals=1),
    (UnitSystem.METRIC, Quantity.AREA): _Scale(
        symbol="ha", size=SQUARE_METRES_PER_HECTARE, decimals=1
    ),
    (UnitSystem.METRIC, Quantity.SPEED): _Scale(symbol="m/s", size=1.0, decimals=1),
    (UnitSystem.METRIC, Quantity.RAIN): _Scale(symbol="mm", size=1.0, decimals=1),
    (UnitSystem.METRIC, Quantity.TEMPERATURE): _Scale(symbol="°C", size=1.0, decimals=0),
}


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A number as a person reads it: unrounded ``value``, ``unit`` symbol, rounded ``text``."""

    value: float
    unit: str
    text: str


def show(
    stored: float, quantity: Quantity, system: UnitSystem, *, decimals: int | None = None
) -> Shown:
    """A stored number (m, m², m/s, mm or °C) in the units of ``system``.

    ``decimals`` None shows as many as suit a page.
    """
    scale = _SCALES[system, quantity]
    if decimals is None:
        decimals = scale.decimals
    value = stored / scale.size + scale.zero
    rounded = round(value, decimals) + 0.0  # adding zero turns -0 into 0
    text = f"{rounded:,.{decimals}f}"
    return Shown(value=value, unit=scale.symbol, text=f"{text} {scale.symbol}")


def stored(value: float, quantity: Quantity, system: UnitSystem) -> float:
    """What to store for a number that a person gave in the units of ``system``."""
    scale = _SCALES[system, quantity]
    return (value - scale.zero) * scale.size

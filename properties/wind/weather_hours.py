"""What every weather source is turned into: hours of wind, and an honest count of the rest.

Wind is where it blows *from*, in degrees true. Three states have no direction and are never
confused: calm (speed 0), variable (the report says so) and unknown (``None``).
"""

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from properties.land.settings import setting


class ImpossibleWeather(ValueError):
    """Values that no weather has: quantity and stable code of the first, a sentence of all."""

    def __init__(self, quantity: str, code: str, detail: str) -> None:
        super().__init__(detail)
        self.quantity = quantity
        self.code = code
        self.detail = detail


@dataclass(frozen=True, kw_only=True)
class PlausibleWeather:
    """Bounds outside which a value is taken for a fault of the source."""

    max_speed_mps: float = setting(
        60.0,
        unit="m/s",
        minimum=10,
        maximum=120,
        description="Fastest mean wind or gust believed. Common practice, no source.",
    )
    min_temperature_c: float = setting(
        -70.0,
        unit="degC",
        minimum=-100,
        maximum=0,
        description="Lowest air temperature believed. Common practice, no source.",
    )
    max_temperature_c: float = setting(
        60.0,
        unit="degC",
        minimum=20,
        maximum=80,
        description="Highest air temperature believed. Common practice, no source.",
    )
    max_precipitation_mm: float = setting(
        300.0,
        unit="mm",
        minimum=10,
        maximum=1000,
        description="Most precipitation believed in one hour. Common practice, no source.",
    )


@dataclass(frozen=True, kw_only=True)
class WeatherHour:
    """The weather from ``instant`` (UTC) on, as one source gave it; ``None`` is unknown.

    ``wind_from_deg`` lies in (0, 360], north being 360; calm and variable wind have none.
    ``cloud_fraction`` and ``precipitation_chance`` lie in [0, 1]; ``precipitation_mm`` is the
    amount that falls within the hour. ``raw`` is the report as received, where there is one.
    Build one from untrusted numbers with :func:`weather_hour`.
    """

    instant: datetime
    wind_from_deg: float | None
    speed_mps: float | None
    variable: bool = False
    gust_mps: float | None = None
    temperature_c: float | None = None
    cloud_fraction: float | None = None
    precipitation_mm: float | None = None
    precipitation_chance: float | None = None
    source: str
    raw: str = ""

    def __post_init__(self) -> None:
        if self.instant.utcoffset() != timedelta(0):
            raise ValueError("instant must be aware and in UTC")
        if self.wind_from_deg is not None and (self.calm or self.variable):
            raise ValueError("calm and variable wind have no direction")
        if self.calm and self.variable:
            raise ValueError("calm air does not vary")

    @property
    def calm(self) -> bool:
        return self.speed_mps == 0

    @property
    def has_direction(self) -> bool:
        return self.wind_from_deg is not None


def weather_hour(
    *,
    instant: datetime,
    wind_from_deg: float | None,
    speed_mps: float | None,
    source: str,
    variable: bool = False,
    gust_mps: float | None = None,
    temperature_c: float | None = None,
    cloud_fraction: float | None = None,
    precipitation_mm: float | None = None,
    precipitation_chance: float | None = None,
    raw: str = "",
    bounds: PlausibleWeather | None = None,
) -> WeatherHour:
    """A checked hour: what has no direction loses it, 0° in moving air becomes 360°.

    Raises :class:`ImpossibleWeather` naming every value that cannot be.
    """
    bounds = bounds or PlausibleWeather()
    coldest, warmest = bounds.min_temperature_c, bounds.max_temperature_c
    checked = (
        _fault("direction", wind_from_deg, 0, 360, "°"),
        _fault("speed", speed_mps, 0, bounds.max_speed_mps, " m/s"),
        _fault("gust", gust_mps, 0, bounds.max_speed_mps, " m/s"),
        _fault("temperature", temperature_c, coldest, warmest, " °C"),
        _fault("cloud_fraction", cloud_fraction, 0, 1, ""),
        _fault("precipitation", precipitation_mm, 0, bounds.max_precipitation_mm, " mm"),
        _fault("precipitation_chance", precipitation_chance, 0, 1, ""),
    )
    faults = [fault for fault in checked if fault is not None]
    if faults:
        raise ImpossibleWeather(
            faults[0].quantity, faults[0].code, "; ".join(fault.detail for fault in faults)
        )
    calm = speed_mps == 0
    if calm or variable:
        wind_from_deg = None
    elif wind_from_deg == 0:
        wind_from_deg = 360.0
    return WeatherHour(
        instant=instant.astimezone(UTC),
        wind_from_deg=wind_from_deg,
        speed_mps=speed_mps,
        variable=variable and not calm,
        gust_mps=gust_mps,
        temperature_c=temperature_c,
        cloud_fraction=cloud_fraction,
        precipitation_mm=precipitation_mm,
        precipitation_chance=precipitation_chance,
        source=source,
        raw=raw,
    )


def _fault(
    name: str, value: float | None, low: float, high: float, unit: str
) -> ImpossibleWeather | None:
    if value is None:
        return None
    words = name.replace("_", " ")
    if not math.isfinite(value):
        return ImpossibleWeather(name, f"{name}_not_finite", f"{words} is not a finite number")
    if not low <= value <= high:
        return ImpossibleWeather(
            name,
            f"impossible_{name}",
            f"{words} {value:g}{unit} lies outside {low:g} to {high:g}{unit}",
        )
    return None


@dataclass(frozen=True, kw_only=True)
class Skipped:
    """Something read and left out. ``place`` is a line number or a JSON pointer."""

    place: int | str
    code: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class WeatherImport:
    """What came of one document: ``read`` = hours taken + skipped, always."""

    hours: tuple[WeatherHour, ...]
    skipped: tuple[Skipped, ...]
    read: int
    issued_at: datetime | None = None

    def __post_init__(self) -> None:
        if self.read != len(self.hours) + len(self.skipped):
            raise ValueError(
                f"{self.read} read, but {len(self.hours)} taken and {len(self.skipped)} skipped"
            )

    @property
    def places_by_code(self) -> dict[str, tuple[int | str, ...]]:
        """Where things were skipped, by the code of the reason, in the order of reading."""
        places: defaultdict[str, list[int | str]] = defaultdict(list)
        for skipped in self.skipped:
            places[skipped.code].append(skipped.place)
        return {code: tuple(found) for code, found in places.items()}

    @property
    def reconciliation(self) -> str:
        """One sentence for the person who imported: everything read is accounted for."""
        total = f"{self.read} read = {len(self.hours)} taken + {len(self.skipped)} skipped"
        reasons = (
            f"{code.replace('_', ' ')} {len(places)} (at {', '.join(map(str, places))})"
            for code, places in self.places_by_code.items()
        )
        return f"{total}: {'; '.join(reasons)}" if self.skipped else total

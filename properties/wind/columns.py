"""Weather hours as columns: how an issue is stored, compared and computed with."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from properties.wind.weather_hours import WeatherHour

FloatArray = NDArray[np.float64]

NUMBERS = (
    "wind_from_deg",
    "speed_mps",
    "gust_mps",
    "cloud_fraction",
    "temperature_c",
    "precipitation_mm",
    "precipitation_chance",
)


@dataclass(frozen=True, kw_only=True)
class WeatherColumns:
    """Hours in order of time; each list has one entry an hour, ``None`` where unknown."""

    starts_at: tuple[datetime, ...]
    variable: tuple[bool, ...]
    numbers: Mapping[str, tuple[float | None, ...]]

    @classmethod
    def of_hours(cls, hours: Iterable[WeatherHour]) -> "WeatherColumns":
        """Columns of hours in any order; of several for one instant the last counts."""
        by_instant = {hour.instant: hour for hour in hours}
        ordered = [by_instant[instant] for instant in sorted(by_instant)]
        return cls(
            starts_at=tuple(hour.instant for hour in ordered),
            variable=tuple(hour.variable for hour in ordered),
            numbers={name: tuple(getattr(hour, name) for hour in ordered) for name in NUMBERS},
        )

    @classmethod
    def of_json(cls, stored: Mapping[str, Sequence[Any]]) -> "WeatherColumns":
        starts_at = tuple(datetime.fromisoformat(text) for text in stored["starts_at"])
        unknown = [None] * len(starts_at)
        return cls(
            starts_at=starts_at,
            variable=tuple(stored.get("variable", [False] * len(starts_at))),
            numbers={name: tuple(stored.get(name, unknown)) for name in NUMBERS},
        )

    def as_json(self) -> dict[str, list[Any]]:
        written = [instant.astimezone(UTC).isoformat() for instant in self.starts_at]
        numbers = {name: list(values) for name, values in self.numbers.items()}
        return {"starts_at": written, "variable": list(self.variable), **numbers}

    def fingerprint(self, *, source: str, issued_at: datetime) -> str:
        """A digest of the content: the same issue sent twice has the same one."""
        content = [source, issued_at.astimezone(UTC).isoformat(), self.as_json()]
        return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()

    def at(self, instants: Sequence[datetime]) -> dict[str, FloatArray]:
        """The numbers at instants; NaN where no hour is held. Shapes (instants,)."""
        index = [self._place.get(instant, -1) for instant in instants]
        found = {}
        for name in NUMBERS:
            column = np.array([*self.numbers[name], None], dtype=float)
            found[name] = column[index]
        return found

    @cached_property
    def _place(self) -> dict[datetime, int]:
        return {instant: place for place, instant in enumerate(self.starts_at)}

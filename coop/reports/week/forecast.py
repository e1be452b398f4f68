"""What a forecast says of a session: the wind as one vector, the worst gust, the rain."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from properties.wind.sectors import SECTOR_NAMES, sector_of

# Below this share of the mean speed the vectors cancel, and no direction stands for them.
STEADY_SHARE = 0.3


@dataclass(frozen=True, kw_only=True)
class SessionWeather:
    """None where no hour of the session is forecast; rain in mm over the session."""

    wind_from_deg: float | None = None
    sector: str = ""
    speed_mps: float | None = None
    gust_mps: float | None = None
    temperature_c: float | None = None
    precipitation_mm: float | None = None
    precipitation_chance: float | None = None


def session_weather(
    hours: Mapping[str, Sequence[Any]], *, starts_at: datetime, ends_at: datetime
) -> SessionWeather:
    """The forecast's hours that begin within a session, in one line.

    ``hours`` are the columns of a stored forecast. The direction is that of the mean vector,
    and is left out where the hours turn too far for one to stand for all.
    """
    instants = [datetime.fromisoformat(text) for text in hours.get("starts_at", ())]
    inside = [place for place, at in enumerate(instants) if starts_at <= at < ends_at]
    if not inside:
        return SessionWeather()

    def column(name: str) -> NDArray[np.float64]:
        values = hours.get(name) or [None] * len(instants)
        return np.array(
            [np.nan if values[place] is None else values[place] for place in inside], float
        )

    speed = column("speed_mps")
    direction = _mean_direction(column("wind_from_deg"), speed)
    return SessionWeather(
        wind_from_deg=None if direction is None else round(direction) % 360.0,
        sector="" if direction is None else SECTOR_NAMES[int(sector_of(direction))],
        speed_mps=_over(np.nanmean, speed),
        gust_mps=_over(np.nanmax, column("gust_mps")),
        temperature_c=_over(np.nanmean, column("temperature_c")),
        precipitation_mm=_over(np.nansum, column("precipitation_mm")),
        precipitation_chance=_over(np.nanmax, column("precipitation_chance"), digits=2),
    )


def _mean_direction(from_deg: NDArray[np.float64], speed_mps: NDArray[np.float64]) -> float | None:
    known = ~np.isnan(from_deg) & ~np.isnan(speed_mps) & (speed_mps > 0)
    if not known.any():
        return None
    angle, speed = np.radians(from_deg[known]), speed_mps[known]
    east, north = float((speed * np.sin(angle)).sum()), float((speed * np.cos(angle)).sum())
    if np.hypot(east, north) < STEADY_SHARE * speed.sum():
        return None
    return float(np.degrees(np.arctan2(east, north))) % 360


def _over(how: Any, values: NDArray[np.float64], *, digits: int = 1) -> float | None:
    return None if np.isnan(values).all() else round(float(how(values)), digits)

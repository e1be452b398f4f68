"""How often the wind blew from each sector, and how hard: the numbers behind a wind rose."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from properties.wind.sectors import sector_of
from properties.wind.weather_hours import WeatherHour

# Beaufort 2, 3, 4 and 5 begin at these speeds (m/s); below lies light air.
SPEED_EDGES_MPS: Final = (1.6, 3.4, 5.5, 8.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class WindRose:
    """Counts of hours. Those without a direction are kept apart, each for its own reason.

    ``counts`` (sectors, speed classes): sector 0 is centred on north, then clockwise; class 0
    lies below the first of ``speed_edges_mps``, class i from edge i-1 up to, not including,
    edge i, the last is open. ``unknown`` hours lack a speed, or a direction without being
    variable; they are in no share.
    """

    counts: npt.NDArray[np.int64]
    speed_edges_mps: tuple[float, ...]
    calm: int
    variable: int
    unknown: int

    @property
    def directed(self) -> int:
        return int(self.counts.sum())

    @property
    def known(self) -> int:
        return self.directed + self.calm + self.variable

    @property
    def shares(self) -> npt.NDArray[np.float64]:
        """Shares of the hours with a direction, shape as ``counts``; sum to 1, or all 0."""
        return self.counts / max(self.directed, 1)

    @property
    def sector_shares(self) -> npt.NDArray[np.float64]:
        """Shares of the hours with a direction by sector, shape (sectors,)."""
        return np.asarray(self.shares.sum(axis=1))

    @property
    def calm_share(self) -> float:
        """Share of the known hours that were calm."""
        return self.calm / max(self.known, 1)

    @property
    def variable_share(self) -> float:
        """Share of the known hours in which the wind had no direction to name."""
        return self.variable / max(self.known, 1)


def wind_rose(
    *,
    wind_from_deg: npt.ArrayLike,
    speed_mps: npt.ArrayLike,
    variable: npt.ArrayLike | None = None,
    speed_edges_mps: tuple[float, ...] = SPEED_EDGES_MPS,
    sector_count: int = 8,
) -> WindRose:
    """Count hours by sector and speed class.

    ``wind_from_deg`` and ``speed_mps`` (hours,), nan where unknown; ``variable`` (hours,) marks
    hours reported as variable. Speed 0 is calm whatever its direction; in moving air 0° and
    360° are both north. Raises ValueError for arrays of different shapes or not one-
    dimensional, a direction outside [0, 360], a negative or infinite speed, and edges that do
    not rise from above 0.
    """
    direction = np.asarray(wind_from_deg, dtype=float)
    speed = np.asarray(speed_mps, dtype=float)
    varies = np.zeros(speed.shape, bool) if variable is None else np.asarray(variable, dtype=bool)
    edges = np.asarray(speed_edges_mps, dtype=float)
    _check(direction, speed, varies, edges)
    calm = speed == 0
    is_variable = varies & (speed > 0)
    is_directed = np.isfinite(direction) & (speed > 0) & ~varies
    counts = np.zeros((sector_count, edges.size + 1), dtype=np.int64)
    sector = sector_of(direction[is_directed], count=sector_count)
    speed_class = np.searchsorted(edges, speed[is_directed], side="right")
    np.add.at(counts, (sector, speed_class), 1)
    return WindRose(
        counts=counts,
        speed_edges_mps=tuple(float(edge) for edge in edges),
        calm=int(calm.sum()),
        variable=int(is_variable.sum()),
        unknown=int((~(calm | is_variable | is_directed)).sum()),
    )


def wind_rose_of_hours(
    hours: tuple[WeatherHour, ...],
    *,
    speed_edges_mps: tuple[float, ...] = SPEED_EDGES_MPS,
    sector_count: int = 8,
) -> WindRose:
    """The same for imported hours."""
    return wind_rose(
        wind_from_deg=[np.nan if h.wind_from_deg is None else h.wind_from_deg for h in hours],
        speed_mps=[np.nan if h.speed_mps is None else h.speed_mps for h in hours],
        variable=[h.variable for h in hours],
        speed_edges_mps=speed_edges_mps,
        sector_count=sector_count,
    )


def _check(
    direction: npt.NDArray[np.float64],
    speed: npt.NDArray[np.float64],
    varies: npt.NDArray[np.bool_],
    edges: npt.NDArray[np.float64],
) -> None:
    if speed.ndim != 1 or not (direction.shape == speed.shape == varies.shape):
        raise ValueError("directions, speeds and marks must be lists of one length")
    if np.any((direction < 0) | (direction > 360)):
        raise ValueError("directions lie in 0 to 360 degrees")
    if np.any((speed < 0) | np.isinf(speed)):
        raise ValueError("speeds are finite and not negative")
    if edges.ndim != 1 or not np.all(np.diff(edges, prepend=0.0) > 0):
        raise ValueError("speed edges must rise from above 0")

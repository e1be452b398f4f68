"""Where the hunter is and where deer are expected, in one local frame of metres.

East and north of a common origin; directions in degrees true.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from properties.wind.settings import COVERS

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


class Behaviour(StrEnum):
    """Deer stay at one point of a feature for many steps, or pass all of it in a few."""

    STAYING = "staying"
    PASSING = "passing"


def _no_points() -> FloatArray:
    return np.empty((0, 2))


def _eight_zeros() -> FloatArray:
    return np.zeros(8)


@dataclass(frozen=True, kw_only=True, eq=False)
class StandPlace:
    """A stand as the wind sees it.

    ``position`` (2,) and the route points (n, 2) are east and north in metres; a route of no
    points is a drop-off or pick-up at the stand itself. ``slope_aspect_deg`` is where the
    slope faces. ``wind_offset_deg`` (8,) turns the forecast clockwise per forecast sector,
    ``wind_spread_deg`` (8,) is the stand's own spread there; both as learned, zero if not.
    """

    position: FloatArray
    seat_height_m: float = 1.0
    elevated: bool = False
    slope_aspect_deg: float | None = None
    slope_deg: float = 0.0
    cover: str = "open"
    approach: FloatArray = field(default_factory=_no_points)
    exit: FloatArray = field(default_factory=_no_points)
    wind_offset_deg: FloatArray = field(default_factory=_eight_zeros)
    wind_spread_deg: FloatArray = field(default_factory=_eight_zeros)

    def __post_init__(self) -> None:
        if self.cover not in COVERS:
            raise ValueError(f"cover is one of {', '.join(COVERS)}")
        if not np.all(np.isfinite(self.position)) or not np.isfinite(self.seat_height_m):
            raise ValueError("a stand needs a finite place and seat height")
        if len(self.wind_offset_deg) != 8 or len(self.wind_spread_deg) != 8:
            raise ValueError("local wind is held for 8 sectors")


@dataclass(frozen=True, kw_only=True, eq=False)
class Receptor:
    """A feature that holds deer, as points where their noses may be.

    ``points`` (n, 2). ``weights`` (n,): where deer stay, the relative chance of each point;
    where they pass, the metres of way that each point stands for. ``share`` multiplies the
    presence of its kind (area over the kind's standard area). ``group`` joins pieces of one
    way, which count once. ``loop_centre`` (2,) marks points on a loop round a scrape of
    which deer use the side downwind of it, wherever that is in the hour.
    """

    feature_id: str
    name: str
    kind: str
    behaviour: Behaviour
    points: FloatArray
    weights: FloatArray
    share: float = 1.0
    group: str | None = None
    loop_centre: FloatArray | None = None

    def __post_init__(self) -> None:
        if len(self.points) == 0 or self.points.shape != (len(self.points), 2):
            raise ValueError(f"{self.name}: a receptor needs points of shape (n, 2)")
        if self.weights.shape != (len(self.points),) or not np.all(self.weights >= 0):
            raise ValueError(f"{self.name}: one weight a point, none below zero")
        if not np.all(np.isfinite(self.points)) or self.weights.sum() <= 0:
            raise ValueError(f"{self.name}: points must be finite and some weight above zero")

    @property
    def is_staying(self) -> bool:
        return self.behaviour == Behaviour.STAYING


def line_points(line: npt.ArrayLike, *, spacing_m: float) -> tuple[FloatArray, FloatArray]:
    """Points along a line and the metres each stands for; shapes (n, 2), (n,).

    The line is cut into equal pieces no longer than ``spacing_m``, a point at the middle of
    each; the lengths sum to the line's. A line of one point or no length gives that point
    with no length.
    """
    vertices = np.asarray(line, dtype=float).reshape(-1, 2)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(vertices, axis=0).T))])
    if along[-1] <= 0:
        return vertices[:1], np.zeros(len(vertices[:1]))
    count = int(np.ceil(along[-1] / spacing_m))
    middles = (np.arange(count) + 0.5) * along[-1] / count
    points = np.stack([np.interp(middles, along, axis) for axis in vertices.T], axis=1)
    return points, np.full(count, along[-1] / count)


def polygon_points(
    ring: npt.ArrayLike, *, spacing_m: float, holes: Sequence[npt.ArrayLike] = ()
) -> FloatArray:
    """Points of a square grid inside a polygon; shape (n, 2).

    The grid is aligned to the frame's origin, so that a polygon cut in two keeps its points.
    A polygon too small for any gives its vertices' middle.
    """
    outline = np.asarray(ring, dtype=float).reshape(-1, 2)
    lowest = np.floor(outline.min(axis=0) / spacing_m)
    highest = np.ceil(outline.max(axis=0) / spacing_m)
    east, north = (
        (np.arange(low, high) + 0.5) * spacing_m for low, high in zip(lowest, highest, strict=True)
    )
    grid = np.stack(np.meshgrid(east, north), axis=-1).reshape(-1, 2)
    inside = _inside(grid, outline)
    for hole in holes:
        inside &= ~_inside(grid, np.asarray(hole, dtype=float).reshape(-1, 2))
    return grid[inside] if inside.any() else outline.mean(axis=0, keepdims=True)


def polygon_area_m2(ring: npt.ArrayLike) -> float:
    """Area of a simple polygon by the shoelace formula."""
    east, north = np.asarray(ring, dtype=float).reshape(-1, 2).T
    return float(abs(np.dot(east, np.roll(north, -1)) - np.dot(north, np.roll(east, -1))) / 2.0)


def scrape_points(
    centre: npt.ArrayLike, *, loop_m: float, stretch_m: float
) -> tuple[FloatArray, FloatArray]:
    """A scrape and eight points on the loop round it; metres of way for each."""
    middle = np.asarray(centre, dtype=float)
    angle = np.deg2rad(np.arange(8) * 45.0)
    ring = middle + loop_m * np.stack([np.sin(angle), np.cos(angle)], axis=1)
    lengths = np.full(9, 2.0 * np.pi * loop_m / 8.0)
    lengths[0] = stretch_m
    return np.vstack([middle, ring]), lengths


def joined_ways(lines: Sequence[npt.ArrayLike], *, tolerance_m: float) -> list[int]:
    """A number for each line, equal where lines join end to end, directly or through others."""
    ends = [np.asarray(line, dtype=float).reshape(-1, 2)[[0, -1]] for line in lines]
    group = list(range(len(ends)))
    for later, own in enumerate(ends):
        for earlier in range(later):
            gaps = np.hypot(*(own[:, None] - ends[earlier][None]).reshape(-1, 2).T)
            if gaps.min() <= tolerance_m:
                old, new = group[later], group[earlier]
                group = [new if number == old else number for number in group]
    return group


def _inside(points: FloatArray, ring: FloatArray) -> BoolArray:
    """Even-odd rule, (n,) for points (n, 2)."""
    start, end = ring, np.roll(ring, -1, axis=0)
    east, north = points[:, :1], points[:, 1:]
    spans = (start[:, 1] > north) != (end[:, 1] > north)
    rise = np.where(end[:, 1] == start[:, 1], 1.0, end[:, 1] - start[:, 1])
    crossing = start[:, 0] + (north - start[:, 1]) / rise * (end[:, 0] - start[:, 0])
    return np.asarray((spans & (east < crossing)).sum(axis=1) % 2 == 1)

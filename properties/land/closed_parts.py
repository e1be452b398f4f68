"""Which places and ways lie in a closed part of a property; planar work in metres."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import shapely
from shapely.geometry.base import BaseGeometry

from properties.land.geodesy import frame_around
from properties.land.settings import setting

GROUP = "land"
GRID_M = 0.1
"""How finely a position is kept: 6 decimals of a degree."""


@dataclass(frozen=True, kw_only=True)
class LandSettings:
    """Settings of the land itself."""

    closed_line_margin_m: float = setting(
        20.0,
        unit="m",
        minimum=0,
        maximum=500,
        description="Where a way or a point on the map is closed, everything within so many "
        "metres of it is closed too. A closed area ends where it was drawn. Common practice, "
        "no source.",
    )


class Reached(StrEnum):
    """How a closed part concerns a place: the place lies in it, or only a way to it does."""

    PLACE = "place"
    WAY = "way"


def reached_by(
    part: BaseGeometry,
    *,
    longitude: float,
    latitude: float,
    ways: Sequence[BaseGeometry],
    margin_m: float,
) -> Reached | None:
    """How the closed ``part`` concerns a place with its ``ways``; None: not at all.

    Everything is in longitude and latitude (WGS 84, degrees). A line or a point is closed
    ``margin_m`` metres around; an area is closed as drawn, its edge included.
    """
    frame = frame_around(part)
    closed = frame.geometry_to_metres(part)
    is_area = shapely.get_dimensions(part) == 2
    closed = closed.buffer(GRID_M if is_area else margin_m)
    if closed.intersects(frame.geometry_to_metres(shapely.Point(longitude, latitude))):
        return Reached.PLACE
    if any(closed.intersects(frame.geometry_to_metres(way)) for way in ways):
        return Reached.WAY
    return None

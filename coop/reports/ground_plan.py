"""A small plan of the property in metres from the south-west corner of its box.

It holds the boundary, food plots, water and where work was done, and nothing else: no stand,
scrape or camera, and no longitude or latitude.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from coop.reports.rows import MapRow
from properties.land.geodesy import frame_around
from properties.land.geometry import parse_geometry

Ring = tuple[tuple[int, int], ...]


@dataclass(frozen=True, kw_only=True)
class PlanArea:
    """A mapped area: outlines as (east, north) in whole metres; a line or point is one outline."""

    kind: str
    name: str
    worked_on: bool
    outlines: tuple[Ring, ...]


@dataclass(frozen=True, kw_only=True)
class GroundPlan:
    width_m: int
    height_m: int
    boundary: tuple[Ring, ...]
    areas: tuple[PlanArea, ...]


def ground_plan(
    boundary: Mapping[str, Any], mapped: Iterable[MapRow], *, worked_on: frozenset[str]
) -> GroundPlan:
    """The plan of a property from GeoJSON; ``worked_on`` names features to mark."""
    outline = parse_geometry(boundary)
    frame = frame_around(outline)
    on_plan = frame.geometry_to_metres(outline)
    west, south, east, north = on_plan.bounds

    def moved(shape: BaseGeometry) -> BaseGeometry:
        return shapely.transform(shape, lambda vertices: vertices - [west, south])

    return GroundPlan(
        width_m=round(east - west),
        height_m=round(north - south),
        boundary=_rings(moved(on_plan)),
        areas=tuple(
            PlanArea(
                kind=row.kind,
                name=row.name,
                worked_on=row.name in worked_on,
                outlines=_rings(moved(frame.geometry_to_metres(parse_geometry(row.geometry)))),
            )
            for row in mapped
        ),
    )


def _rings(shape: BaseGeometry) -> tuple[Ring, ...]:
    rings = []
    for part in shapely.get_parts(shape):
        lines = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        rings += [
            tuple((round(east), round(north)) for east, north in line.coords) for line in lines
        ]
    return tuple(rings)

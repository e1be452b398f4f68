"""Mapped access routes as ways to a stand."""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import shape
from shapely.ops import substring

from properties.land.geodesy import LocalFrame
from properties.land.models import Feature, FeatureKind
from properties.wind.places import FloatArray

_SHORTEST_M = 20.0


def routes_to(
    position: FloatArray, *, features: Sequence[Feature], frame: LocalFrame, reach_m: float
) -> dict[str, FloatArray]:
    """Ways along mapped access routes that pass within ``reach_m`` of a stand, by name.

    Each ends at the stand, ``position`` (2,), and is (n, 2) metres in ``frame``. A route
    that leads past it gives two: from its start and from its end. Bits shorter than 20 m
    are no way in.
    """
    stand = shapely.Point(position)
    ways: dict[str, FloatArray] = {}
    for feature in features:
        if feature.kind != FeatureKind.ACCESS_ROUTE:
            continue
        for part in shapely.get_parts(frame.geometry_to_metres(shape(feature.geometry))):
            if part.geom_type == "LineString" and part.distance(stand) <= reach_m:
                _add(ways, feature.name, part, stand)
    return ways


def _add(
    ways: dict[str, FloatArray], name: str, line: shapely.LineString, stand: shapely.Point
) -> None:
    along = line.project(stand)
    pieces = {
        "from its start": substring(line, 0.0, along),
        "from its end": substring(line, line.length, along),
    }
    usable = {end: piece for end, piece in pieces.items() if piece.length >= _SHORTEST_M}
    for end, piece in usable.items():
        called = name if len(usable) == 1 else f"{name}, {end}"
        unique = called if called not in ways else f"{called} ({len(ways) + 1})"
        ways[unique] = np.vstack([shapely.get_coordinates(piece), shapely.get_coordinates(stand)])

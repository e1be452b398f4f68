"""Stands and what holds deer around them, from the map into the model's frame of metres."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from properties.land.geodesy import LocalFrame
from properties.land.models import Feature, FeatureKind, Property
from properties.stands.models import Stand
from properties.wind.places import (
    Behaviour,
    Receptor,
    StandPlace,
    joined_ways,
    line_points,
    polygon_area_m2,
    polygon_points,
    scrape_points,
)
from properties.wind.settings import WindSettings

FloatArray = NDArray[np.float64]

STAYING = frozenset(
    {FeatureKind.BEDDING, FeatureKind.FOOD_PLOT, FeatureKind.WATER, FeatureKind.SANCTUARY}
)
GRID_M = 15.0
JOIN_M = 15.0


@dataclass(frozen=True, kw_only=True)
class PointSource:
    """Something at one point that deer pass and check from downwind: a scrape."""

    id: str
    name: str
    kind: str
    longitude: float
    latitude: float


PointSources = Callable[[Property], Iterable[PointSource]]

_point_sources: list[PointSources] = []


def register_point_sources(source: PointSources) -> None:
    """Let a floor above tell what else holds deer; scrapes do so when their app is ready."""
    _point_sources.append(source)


@dataclass(frozen=True, kw_only=True)
class LocalWind:
    """What a stand does to the wind, for 8 sectors; ``reports`` counts the sits behind it."""

    offset_deg: tuple[float, ...] = (0.0,) * 8
    spread_deg: tuple[float, ...] = (0.0,) * 8
    reports: int = 0
    found_spread_deg: float | None = None
    holds: bool = True


@dataclass(frozen=True, kw_only=True, eq=False)
class Surroundings:
    """One property in metres: the frame, and every receptor of it."""

    frame: LocalFrame
    receptors: tuple[Receptor, ...]
    described: tuple[object, ...] = field(repr=False)
    """The receptors as plain values, for a fingerprint."""


def surroundings_of(
    land: Property, *, features: Sequence[Feature], settings: WindSettings
) -> Surroundings:
    """Everything on ``land`` that holds deer, as receptors.

    Bedding, food plots, water and sanctuaries hold deer that stay; corridors and scrapes
    deer that pass. Pieces of corridor that join end to end count as one.
    """
    frame = LocalFrame(origin_lon=land.longitude, origin_lat=land.latitude)
    points = [source for sources in _point_sources for source in sources(land)]
    receptors: list[Receptor] = []
    for feature in features:
        if feature.kind in STAYING:
            receptors += _staying(feature, frame, settings)
    receptors += _corridors(
        [f for f in features if f.kind == FeatureKind.CORRIDOR], frame, settings
    )
    receptors += [_passed_point(source, frame, settings) for source in points]
    described = (
        *((str(f.id), f.kind, f.name, f.geometry) for f in features),
        *((p.id, p.kind, p.name, p.longitude, p.latitude) for p in points),
    )
    return Surroundings(frame=frame, receptors=tuple(receptors), described=described)


def stand_place(stand: Stand, frame: LocalFrame, *, wind: LocalWind | None = None) -> StandPlace:
    """A stand in the frame; without an exit route the approach is walked back.

    ``wind`` is what it does to the wind: without one, nothing.
    """
    own = wind or LocalWind()
    approach = _route(stand.approach_route, frame)
    way_out = _route(stand.exit_route, frame) if stand.exit_route else approach[::-1]
    east, north = frame.to_metres(stand.longitude, stand.latitude)
    return StandPlace(
        position=np.array([float(east), float(north)]),
        seat_height_m=max(stand.seat_height_m, 1.0),
        elevated=stand.is_elevated(),
        slope_aspect_deg=stand.slope_aspect_deg,
        slope_deg=stand.slope_deg,
        cover=stand.cover,
        approach=approach,
        exit=way_out,
        wind_offset_deg=np.array(own.offset_deg),
        wind_spread_deg=np.array(own.spread_deg),
    )


def _route(geometry: dict[str, object] | None, frame: LocalFrame) -> FloatArray:
    if not geometry:
        return np.empty((0, 2))
    return np.asarray(shapely.get_coordinates(frame.geometry_to_metres(shape(geometry))))


def _staying(feature: Feature, frame: LocalFrame, settings: WindSettings) -> Iterable[Receptor]:
    for part in shapely.get_parts(frame.geometry_to_metres(shape(feature.geometry))):
        points, area_m2 = _spread(part)
        yield Receptor(
            feature_id=str(feature.id),
            name=feature.name,
            kind=feature.kind,
            behaviour=Behaviour.STAYING,
            points=points,
            weights=np.ones(len(points)),
            share=settings.share_of_area(kind=feature.kind, area_m2=area_m2) if area_m2 else 1.0,
        )


def _spread(part: BaseGeometry) -> tuple[FloatArray, float]:
    """Points where deer may be on an area, a shore or a mere point, and its area (0: none)."""
    if part.geom_type == "Polygon":
        holes = [np.asarray(ring.coords) for ring in part.interiors]
        outline = np.asarray(part.exterior.coords)
        area_m2 = polygon_area_m2(outline) - sum(polygon_area_m2(hole) for hole in holes)
        return polygon_points(outline, spacing_m=GRID_M, holes=holes), area_m2
    if part.geom_type == "LineString":
        return line_points(np.asarray(part.coords), spacing_m=GRID_M)[0], 0.0
    return np.asarray(part.coords), 0.0


def _corridors(
    features: Sequence[Feature], frame: LocalFrame, settings: WindSettings
) -> Iterable[Receptor]:
    pieces: list[tuple[Feature, FloatArray]] = []
    for feature in features:
        for part in shapely.get_parts(frame.geometry_to_metres(shape(feature.geometry))):
            line = part.exterior if part.geom_type == "Polygon" else part
            pieces.append((feature, np.asarray(line.coords)))
    groups = joined_ways([line for _feature, line in pieces], tolerance_m=JOIN_M)
    for (feature, line), group in zip(pieces, groups, strict=True):
        points, lengths = line_points(line, spacing_m=settings.passing_stretch_m)
        yield Receptor(
            feature_id=str(feature.id),
            name=feature.name,
            kind=feature.kind,
            behaviour=Behaviour.PASSING,
            points=points,
            weights=lengths,
            group=f"corridor-{group}",
        )


def _passed_point(source: PointSource, frame: LocalFrame, settings: WindSettings) -> Receptor:
    east, north = frame.to_metres(source.longitude, source.latitude)
    centre = np.array([float(east), float(north)])
    points, lengths = scrape_points(
        centre, loop_m=settings.scrape_loop_m, stretch_m=settings.passing_stretch_m
    )
    return Receptor(
        feature_id=source.id,
        name=source.name,
        kind=source.kind,
        behaviour=Behaviour.PASSING,
        points=points,
        weights=lengths,
        loop_centre=centre,
    )

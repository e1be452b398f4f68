"""Distances, bearings and areas on the WGS 84 ellipsoid, and a flat frame in metres.

Everything is a geodesic of Karney (2013), "Algorithms for geodesics", J. Geodesy 87,
through PROJ. Longitudes and latitudes are in degrees, longitude first as in GeoJSON;
bearings are degrees true in [0, 360).
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from pyproj import Geod
from shapely.geometry.base import BaseGeometry

from properties.land.units import SQUARE_METRES_PER_ACRE, SQUARE_METRES_PER_HECTARE

FloatArray = NDArray[np.float64]

_WGS84 = Geod(ellps="WGS84")


def distance_m(
    from_lon: ArrayLike, from_lat: ArrayLike, to_lon: ArrayLike, to_lat: ArrayLike
) -> FloatArray:
    """Length in metres of the shortest way between points; the four arrays broadcast."""
    return _inverse(from_lon, from_lat, to_lon, to_lat)[1]


def bearing_deg(
    from_lon: ArrayLike, from_lat: ArrayLike, to_lon: ArrayLike, to_lat: ArrayLike
) -> FloatArray:
    """Direction in degrees true in which the shortest way leaves the first point.

    Between a point and itself there is no direction; NaN is returned.
    """
    azimuth, distance = _inverse(from_lon, from_lat, to_lon, to_lat)
    return np.where(distance > 0, azimuth % 360, np.nan)


def destination(
    from_lon: ArrayLike, from_lat: ArrayLike, bearing: ArrayLike, distance: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Longitude and latitude reached after ``distance`` metres on ``bearing`` degrees true."""
    lon, lat, azimuth, metres = _broadcast(from_lon, from_lat, bearing, distance)
    to_lon, to_lat, _ = _WGS84.fwd(lon.ravel(), lat.ravel(), azimuth.ravel(), metres.ravel())
    return np.reshape(to_lon, lon.shape), np.reshape(to_lat, lat.shape)


def area_m2(area: BaseGeometry) -> float:
    """Area in square metres of a Polygon or MultiPolygon, holes taken out, however it turns.

    Edges are taken as geodesics; over the size of a property they differ from GeoJSON's
    straight lines in degrees by far less than the boundary is known.
    """
    if area.is_empty:
        return 0.0
    turned = shapely.orient_polygons(area)
    parts = shapely.get_parts(turned)
    return float(sum(abs(_WGS84.geometry_area_perimeter(part)[0]) for part in parts))


def area_ha(area: BaseGeometry) -> float:
    return area_m2(area) / SQUARE_METRES_PER_HECTARE


def area_acres(area: BaseGeometry) -> float:
    return area_m2(area) / SQUARE_METRES_PER_ACRE


def length_m(line: BaseGeometry) -> float:
    """Length in metres of a LineString or MultiLineString; gaps between parts count nothing."""
    return float(sum(_WGS84.geometry_length(part) for part in shapely.get_parts(line)))


@dataclass(frozen=True, kw_only=True)
class LocalFrame:
    """Metres east and north of an origin: the azimuthal equidistant projection.

    Distance and bearing from the origin are exact. Between two other points the error
    grows with the square of their distance from it: under 1 mm a kilometre within 10 km.
    """

    origin_lon: float
    origin_lat: float

    def to_metres(self, lon: ArrayLike, lat: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """East and north in metres, of the broadcast shape of ``lon`` and ``lat``."""
        azimuth, distance = _inverse(self.origin_lon, self.origin_lat, lon, lat)
        radians = np.radians(azimuth)
        return distance * np.sin(radians), distance * np.cos(radians)

    def to_degrees(self, east_m: ArrayLike, north_m: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Longitude and latitude in degrees; the inverse of :meth:`to_metres`."""
        east, north = _broadcast(east_m, north_m)
        bearing = np.degrees(np.arctan2(east, north))
        return destination(self.origin_lon, self.origin_lat, bearing, np.hypot(east, north))

    def geometry_to_metres(self, geometry: BaseGeometry) -> BaseGeometry:
        """The geometry with its vertices in metres, for planar work; heights are dropped."""
        return shapely.transform(geometry, self._vertices_to_metres)

    def geometry_to_degrees(self, geometry: BaseGeometry) -> BaseGeometry:
        return shapely.transform(geometry, self._vertices_to_degrees)

    def _vertices_to_metres(self, vertices: FloatArray) -> FloatArray:
        return np.column_stack(self.to_metres(vertices[:, 0], vertices[:, 1]))

    def _vertices_to_degrees(self, vertices: FloatArray) -> FloatArray:
        return np.column_stack(self.to_degrees(vertices[:, 0], vertices[:, 1]))


def frame_around(geometry: BaseGeometry) -> LocalFrame:
    """A local frame with its origin at a point of ``geometry`` (not empty)."""
    point = shapely.point_on_surface(geometry)
    return LocalFrame(origin_lon=point.x, origin_lat=point.y)


def _inverse(
    from_lon: ArrayLike, from_lat: ArrayLike, to_lon: ArrayLike, to_lat: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    lon1, lat1, lon2, lat2 = _broadcast(from_lon, from_lat, to_lon, to_lat)
    azimuth, _, distance = _WGS84.inv(lon1.ravel(), lat1.ravel(), lon2.ravel(), lat2.ravel())
    return np.reshape(azimuth, lon1.shape), np.reshape(distance, lon1.shape)


def _broadcast(*values: ArrayLike) -> tuple[FloatArray, ...]:
    arrays = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values))
    return tuple(np.ascontiguousarray(array).reshape(array.shape) for array in arrays)

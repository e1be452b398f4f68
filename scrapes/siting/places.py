"""What lies around places for scrapes, in local metres east and north of one origin."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Place = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class StandPlace:
    """A stand with the furthest shot it allows.

    The arc runs clockwise from one bearing to the other; equal ones mean all round.
    """

    name: str
    place: Place
    shot_m: float
    arc_from_deg: float = 0.0
    arc_to_deg: float = 0.0

    @property
    def arc_width_deg(self) -> float:
        return (self.arc_to_deg - self.arc_from_deg) % 360 or 360.0


@dataclass(frozen=True, kw_only=True)
class CameraPlace:
    name: str
    place: Place


@dataclass(frozen=True, kw_only=True)
class Route:
    """A route that deer use, as points; two or more."""

    name: str
    points: Sequence[Place]


@dataclass(frozen=True, kw_only=True)
class MappedPlace:
    name: str
    geometry: BaseGeometry


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What is mapped on a property beside stands, cameras and routes."""

    boundary: BaseGeometry
    sanctuaries: Sequence[MappedPlace] = ()
    hazards: Sequence[MappedPlace] = ()
    food_plots: Sequence[MappedPlace] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class Around:
    """Everything by which places on one property are judged, their wind record apart.

    ``sun_azimuths_deg`` are those of sunrise and sunset over the season, ``winds_from_deg``
    the winds that blow often. ``hours_from_deg`` (hours,) are the recorded directions of the
    season's session hours. ``scrapes`` are those that stand already. Without a ``ground``
    nothing is said of boundary, sanctuaries, hazards and plots.
    """

    stands: tuple[StandPlace, ...] = ()
    cameras: tuple[CameraPlace, ...] = ()
    routes: tuple[Route, ...] = ()
    scrapes: tuple[MappedPlace, ...] = ()
    ground: Ground | None = None
    sun_azimuths_deg: tuple[float, ...] = ()
    winds_from_deg: tuple[float, ...] = ()
    hours_from_deg: Floats = field(default_factory=lambda: np.zeros(0))

"""Plain places and plain air for the tests of fit: a stand at the origin, features around it."""

from dataclasses import replace
from typing import Any

import numpy as np

from properties.wind.air import AirHours, forecast_hours
from properties.wind.places import Behaviour, Receptor, StandPlace, line_points, polygon_points
from properties.wind.settings import WindSettings

SETTINGS = WindSettings()
ORIGIN = np.zeros(2)

DUSK = {"sun_elevation_deg": [6.0, 3.0, -1.0], "sun_azimuth_deg": [268.0, 272.0, 276.0]}
AFTERNOON = {"sun_elevation_deg": [30.0, 25.0, 20.0], "sun_azimuth_deg": [220.0, 228.0, 236.0]}


def blind(**changes: Any) -> StandPlace:
    return StandPlace(position=ORIGIN, **changes)


def tree_stand(**changes: Any) -> StandPlace:
    return StandPlace(position=ORIGIN, seat_height_m=6.0, elevated=True, **changes)


def at(bearing_deg: float, distance_m: float) -> np.ndarray:
    angle = np.deg2rad(bearing_deg)
    return distance_m * np.array([np.sin(angle), np.cos(angle)])


def square(centre: np.ndarray, side_m: float) -> np.ndarray:
    half = side_m / 2.0
    return centre + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


def area(kind: str, centre: np.ndarray, *, side_m: float = 60.0, **changes: Any) -> Receptor:
    points = polygon_points(square(centre, side_m), spacing_m=10.0)
    given = {
        "feature_id": f"{kind}-{centre[0]:.0f}-{centre[1]:.0f}",
        "name": f"{kind} at {centre[0]:.0f}, {centre[1]:.0f}",
        "kind": kind,
        "behaviour": Behaviour.STAYING,
        "points": points,
        "weights": np.ones(len(points)),
    }
    return Receptor(**(given | changes))


def corridor(*vertices: np.ndarray, spacing_m: float = 10.0, **changes: Any) -> Receptor:
    points, lengths = line_points(np.array(vertices), spacing_m=spacing_m)
    given = {
        "feature_id": "corridor",
        "name": "creek crossing",
        "kind": "corridor",
        "behaviour": Behaviour.PASSING,
        "points": points,
        "weights": lengths,
    }
    return Receptor(**(given | changes))


def air(
    wind_from_deg: Any, speed_mps: Any = 4.0, *, error_deg: Any = 15.0, **changes: Any
) -> AirHours:
    """Three hours of one wind, at dusk under a clear sky unless told otherwise."""
    given = {**DUSK, "sun_rising": False, "lead_hours": 0.0, "cloud_fraction": 0.0}
    hours = forecast_hours(
        wind_from_deg=wind_from_deg,
        speed_mps=speed_mps,
        settings=SETTINGS,
        **(given | changes),
    )
    return replace(hours, direction_error_deg=np.full(hours.hours, float(error_deg)))

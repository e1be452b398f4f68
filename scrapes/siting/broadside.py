"""Angles at a licking branch: how a deer working it stands to a stand and to a camera.

Places are local metres east and north; directions are degrees true, clockwise from north. A deer
at the branch stands along a line, not along an arrow: it is broadside from either side, and a
branch turned half round is the same branch here.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scrapes.siting.places import Place

Floats = NDArray[np.float64]


def bearing_deg(start: Place, end: Place) -> float:
    """Direction from ``start`` to ``end``, 0 <= bearing < 360; raises ValueError at one place."""
    east, north = end[0] - start[0], end[1] - start[1]
    if east == 0 and north == 0:
        raise ValueError("there is no direction between a place and itself")
    return float(np.degrees(np.arctan2(east, north)) % 360)


def angle_between_deg(first_deg: ArrayLike, second_deg: ArrayLike) -> Floats:
    """Angle between directions, 0 to 180, any shapes that fit together."""
    turn = np.abs(np.asarray(first_deg, float) - np.asarray(second_deg, float)) % 360
    return np.minimum(turn, 360 - turn)


def off_broadside_deg(body_axis_deg: ArrayLike, line_of_sight_deg: ArrayLike) -> Floats:
    """Degrees off broadside, 0 (side on) to 90 (head or tail on), any shapes that fit together."""
    angle = angle_between_deg(body_axis_deg, line_of_sight_deg)
    return np.asarray(90 - np.minimum(angle, 180 - angle))


def bearings_deg(start: ArrayLike, end: ArrayLike) -> Floats:
    """Directions from ``start`` to ``end``, both (..., 2) and broadcast; NaN at one place."""
    east, north = np.moveaxis(np.asarray(end, float) - np.asarray(start, float), -1, 0)
    bearing = np.degrees(np.arctan2(east, north)) % 360
    return np.asarray(np.where((east == 0) & (north == 0), np.nan, bearing))


def best_branch_azimuths_deg(
    lines_of_sight_deg: ArrayLike, *, body_to_branch_deg: float = 0.0
) -> tuple[Floats, Floats]:
    """For each row the branch azimuth best for all watchers, and the worst angle it leaves.

    ``lines_of_sight_deg`` (places, watchers), NaN where a watcher is not one of that place's;
    both answers (places,), NaN for a place without any. Best: the smallest of the largest
    angles off broadside, exactly. Seen as lines (modulo 180) the watchers leave gaps on a half
    circle; the body belongs across the middle of the arc that holds them all, which is what is
    left beside the widest gap. Azimuths lie in 0 <= azimuth < 180; the opposite is as good.
    """
    given = np.asarray(lines_of_sight_deg, float)
    lines = np.pad(np.sort(given % 180, axis=1), ((0, 0), (0, 2)), constant_values=np.nan)
    # The first line once more, half round on, closes the circle and fills what is not given.
    closed = np.where(np.isnan(lines), lines[:, :1] + 180, lines)
    gaps = np.diff(closed, axis=1)
    rows, widest = np.arange(len(lines)), gaps.argmax(axis=1)
    body = closed[rows, widest + 1] + (180 - gaps[rows, widest]) / 2 + 90
    azimuth = (body - body_to_branch_deg) % 180
    azimuth = np.where(np.isclose(azimuth, 180), 0.0, azimuth)
    off = off_broadside_deg(body[:, None], given)
    worst = np.fmax.reduce(off, axis=1, initial=-1.0)
    return azimuth, np.where(np.isnan(azimuth), np.nan, worst)


def best_branch_azimuth_deg(
    lines_of_sight_deg: Iterable[float], *, body_to_branch_deg: float = 0.0
) -> tuple[float, float]:
    """The same for one place. Raises ValueError without a watcher."""
    lines = list(lines_of_sight_deg)
    if not lines:
        raise ValueError("a branch is turned for somebody: no stand or camera was given")
    azimuth, worst = best_branch_azimuths_deg([lines], body_to_branch_deg=body_to_branch_deg)
    return float(azimuth[0]), float(worst[0])

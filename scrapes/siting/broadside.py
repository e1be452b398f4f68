"""Angles at a licking branch: how a deer working it stands to a stand and to a camera.

Places are local metres east and north; directions are degrees true, clockwise from north. A deer
at the branch stands along a line, not along an arrow: it is broadside from either side, and a
branch turned half round is the same branch here.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Place = tuple[float, float]


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


def best_branch_azimuth_deg(
    lines_of_sight_deg: Iterable[float], *, body_to_branch_deg: float = 0.0
) -> tuple[float, float]:
    """The branch azimuth best for all watchers, and the worst angle off broadside it leaves.

    Best: the smallest of the largest angles off broadside, exactly. Seen as lines (modulo 180)
    the watchers leave gaps on a half circle; the body belongs across the middle of the arc that
    holds them all, which is what is left beside the widest gap. The answer lies in 0 <= azimuth
    < 180; the opposite direction is as good. Raises ValueError without a watcher.
    """
    lines = np.sort(np.asarray(list(lines_of_sight_deg), dtype=float) % 180)
    if not len(lines):
        raise ValueError("a branch is turned for somebody: no stand or camera was given")
    gaps = np.append(lines[1:], lines[0] + 180) - lines
    widest = int(gaps.argmax())
    first = lines[(widest + 1) % len(lines)]
    arc = 180 - gaps[widest]
    body = first + arc / 2 + 90
    azimuth = float((body - body_to_branch_deg) % 180)
    worst = float(off_broadside_deg(body, lines).max())
    return (0.0 if np.isclose(azimuth, 180) else azimuth), worst

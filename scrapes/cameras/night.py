"""Which instants lie in the dark at a place: what daylight in a picture is held against."""

import numpy as np
from numpy.typing import NDArray

from properties.sessions.ephemeris import LAST_YEAR
from properties.sessions.place import Place
from properties.sessions.sun_position import sun_positions

_COVERED_UNTIL_S = int(np.datetime64(f"{LAST_YEAR}-12-31", "s").astype(np.int64))


def in_the_dark(
    at_s: NDArray[np.int64], *, latitude_deg: float, longitude_deg: float, below_deg: float
) -> NDArray[np.bool_]:
    """Whether the sun stands lower than ``below_deg`` (true elevation) at each UTC second.

    The sun is asked once for each minute, in which it moves a quarter of a degree at
    most. Of years that the ephemeris does not cover nothing is said: no.
    """
    covered = at_s < _COVERED_UNTIL_S
    found = np.zeros(len(at_s), dtype=bool)
    if covered.any():
        found[covered] = _dark(at_s[covered], latitude_deg, longitude_deg, below_deg)
    return found


def _dark(
    at_s: NDArray[np.int64], latitude_deg: float, longitude_deg: float, below_deg: float
) -> NDArray[np.bool_]:
    minutes, where = np.unique(at_s // 60, return_inverse=True)
    place = Place(latitude_deg=latitude_deg, longitude_deg=longitude_deg, time_zone="UTC")
    instants = (minutes * 60).astype("datetime64[s]")
    dark: NDArray[np.bool_] = sun_positions(place, instants).elevation_deg < below_deg
    return dark[where]

"""The positions of sun and earth: JPL's DE421 as shipped with ``skyfield-data``, read offline.

Nothing is fetched. The package's own path function warns of every file that it finds old,
also of one that is not used here (earth orientation, which moves a sunrise by under a
second), so the ephemeris is opened directly.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from skyfield.api import load, load_file, wgs84
from skyfield.nutationlib import iau2000b_radians

# DE421 covers 1899-07-29 to 2053-10-09; a year needs a few days on either side.
FIRST_YEAR = 1900
LAST_YEAR = 2052
FIRST_WHOLE_YEAR, LAST_WHOLE_YEAR = FIRST_YEAR + 1, LAST_YEAR - 1
"""Years of which every day is covered in every time zone, and some weeks after it."""


@dataclass(frozen=True, kw_only=True)
class Ephemeris:
    """The kernel's sun and earth with the time scale they need."""

    sun: Any
    earth: Any
    timescale: Any

    def observer(self, latitude_deg: float, longitude_deg: float) -> Any:
        return self.earth + wgs84.latlon(latitude_deg, longitude_deg)


@cache
def ephemeris() -> Ephemeris:
    """The ephemeris, opened on first use and kept."""
    kernel = load_file(str(files("skyfield_data") / "data" / "de421.bsp"))
    return Ephemeris(sun=kernel["sun"], earth=kernel["earth"], timescale=load.timescale())


def use_short_nutation(times: Any) -> None:
    """Let ``times`` use the short nutation series IAU 2000B: fifteen times faster here.

    It differs from the long series by about 0.001 arcsecond (McCarthy & Luzum 2003, from
    memory; 0.0007 measured here); the
    library documents this way of choosing it.
    """
    times._nutation_angles_radians = iau2000b_radians(times)


def check_year(year: int) -> None:
    """Raise ValueError for a year that the ephemeris does not cover."""
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise ValueError(f"the sun is known from {FIRST_YEAR} to {LAST_YEAR}, not in {year}")

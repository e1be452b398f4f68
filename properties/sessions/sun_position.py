"""Where the sun stands at many instants at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from properties.sessions.ephemeris import check_year, ephemeris, use_short_nutation
from properties.sessions.place import Place

FloatArray = NDArray[np.float64]

_CHUNK = 20_000
_DAY_S = 86_400


@dataclass(frozen=True, kw_only=True)
class SunPositions:
    """Where the sun's centre stands, both of the shape of the instants asked for.

    ``elevation_deg`` is true, without refraction; ``azimuth_deg`` is degrees true.
    """

    elevation_deg: FloatArray
    azimuth_deg: FloatArray


def sun_positions(
    place: Place, instants: NDArray[np.datetime64] | Sequence[datetime]
) -> SunPositions:
    """Elevation and azimuth of the sun at many instants.

    ``instants`` is an array of ``datetime64`` in UTC, of any shape, or a sequence of aware
    datetimes. Raises ValueError for a naive datetime, NaT or years not covered.
    """
    seconds = _posix_seconds(instants)
    flat = seconds.ravel()
    elevation, azimuth = np.empty(flat.shape), np.empty(flat.shape)
    sky = ephemeris()
    observer = sky.observer(place.latitude_deg, place.longitude_deg)
    for start in range(0, flat.size, _CHUNK):
        part = slice(start, start + _CHUNK)
        times = _times(flat[part])
        use_short_nutation(times)
        # Light bent by the planets moves the sun by nothing that matters here.
        height, direction, _ = observer.at(times).observe(sky.sun).apparent(()).altaz()
        elevation[part], azimuth[part] = height.degrees, direction.degrees
    return SunPositions(
        elevation_deg=elevation.reshape(seconds.shape), azimuth_deg=azimuth.reshape(seconds.shape)
    )


def _posix_seconds(instants: NDArray[np.datetime64] | Sequence[datetime]) -> FloatArray:
    if isinstance(instants, np.ndarray):
        if instants.dtype.kind != "M" or np.isnat(instants).any():
            raise ValueError("instants must be datetime64 in UTC without gaps")
        seconds = instants.astype("datetime64[us]").astype(np.int64) / 1e6
    else:
        if any(instant.tzinfo is None for instant in instants):
            raise ValueError("an instant needs a time zone")
        seconds = np.array([instant.timestamp() for instant in instants], dtype=np.float64)
    if seconds.size:
        check_year(datetime.fromtimestamp(float(seconds.min()), UTC).year)
        check_year(datetime.fromtimestamp(float(seconds.max()), UTC).year)
    return seconds


def _times(posix_seconds: FloatArray) -> Any:
    days = np.floor(posix_seconds / _DAY_S)
    return ephemeris().timescale.utc(
        1970, 1, 1 + days.astype(np.int64), 0, 0, posix_seconds - days * _DAY_S
    )

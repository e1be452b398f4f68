"""How much scrapes are used through the year, relative to the height of the first climb.

Everything hangs on one date per property, its peak of breeding. Use climbs until some days before
it, falls into it while bucks are with does, and rises once more, less, after it. The shape and its
figures are common practice, no source; each is a setting.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scrapes.visits.settings import SeasonSettings

Floats = NDArray[np.float64]


def relative_use(days_from_peak: ArrayLike, *, settings: SeasonSettings) -> Floats:
    """Expected use, any shape; ``days_from_peak`` is negative before the peak of breeding.

    Never 0: between ``off_season_level`` and about 1.
    """
    days = np.asarray(days_from_peak, dtype=np.float64)
    from_height = days + settings.lead_days
    spread = np.where(from_height < 0, settings.climb_days, settings.fall_days)
    first = np.exp(-0.5 * (from_height / spread) ** 2)
    second = settings.second_height * np.exp(
        -0.5 * ((days - settings.second_lag_days) / settings.second_days) ** 2
    )
    burst = np.maximum(first, second)
    return settings.off_season_level + (1 - settings.off_season_level) * burst


def days_from_peak(local_days: ArrayLike, *, peak_month: int, peak_day: int) -> Floats:
    """Days from the nearest peak of breeding, for local dates (``datetime64[D]``, any shape).

    The nearest one counts, be it of the year before or after: in the deep South breeding peaks in
    January. 29 February stands for the 28th in other years. Raises ValueError for no such day.
    """
    days = np.asarray(local_days, dtype="datetime64[D]")
    year = days.astype("datetime64[Y]").astype(int) + 1970
    offsets = np.stack(
        [
            (days - _peak_of(year + shift, peak_month, peak_day)).astype(float)
            for shift in (-1, 0, 1)
        ]
    )
    nearest = np.abs(offsets).argmin(axis=0)
    return np.asarray(np.take_along_axis(offsets, nearest[None, ...], axis=0)[0])


def _peak_of(years: NDArray[np.int64], month: int, day: int) -> NDArray[np.datetime64]:
    if (month, day) == (2, 29):
        day = 28
    np.datetime64(f"2001-{month:02d}-{day:02d}")  # raises ValueError for a day no year has
    months = (np.asarray(years) - 1970).astype("datetime64[Y]").astype("datetime64[M]") + (
        month - 1
    )
    return np.asarray(months.astype("datetime64[D]") + (day - 1))


def use_nights(
    camera_nights: ArrayLike, days_from_peak: ArrayLike, *, settings: SeasonSettings
) -> Floats:
    """Camera-nights weighted by the season, same shape: what a base rate is multiplied by."""
    nights = np.asarray(camera_nights, dtype=np.float64)
    return nights * relative_use(days_from_peak, settings=settings)

"""How little a season's curve may be worth for one window: the spread among its draws."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from scrapes.visits.season_curve import relative_use
from scrapes.visits.settings import SeasonSettings


def curve_variance(
    camera_nights: ArrayLike,
    days_from_peak: ArrayLike,
    *,
    first: int,
    draws: Sequence[SeasonSettings],
) -> float:
    """Variance, among curves that may be true, of the log of what is expected from night ``first``.

    Expected visits are the rate of the nights before times the window's use over theirs; a curve
    that lifts both alike changes nothing. ``camera_nights`` and ``days_from_peak`` have shape
    (nights,). 0 for a curve taken as known (no draws) and where either part was not watched.
    """
    nights, days = np.asarray(camera_nights, float), np.asarray(days_from_peak, float)
    if not draws or nights[:first].sum() <= 0 or nights[first:].sum() <= 0:
        return 0.0
    use = np.stack([relative_use(days, settings=draw) for draw in draws])
    window, before = use[:, first:] @ nights[first:], use[:, :first] @ nights[:first]
    return float(np.var(np.log(window / before)))

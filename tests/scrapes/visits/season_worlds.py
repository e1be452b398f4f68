"""Visits of invented scrapes whose season is known, to fit it again."""

import numpy as np

from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_fit import SeasonCounts

DAYS = np.arange(-183, 184)


def world(rng, truth, *, rates, spread, first=-120, after=100, together=0.0):
    """Rows with the visits a night of ``rates`` at the height, negative binomial.

    ``spread`` is variance over mean; ``together`` the standard deviation of what every week does
    to all scrapes of a property alike (four of them each), on the log scale.
    """
    rows = len(rates)
    groups = np.arange(rows) // 4
    effort = np.where((first <= DAYS) & (after > DAYS), 1.0, 0.0) * np.ones((rows, 1))
    weeks = rng.normal(0, together, (groups[-1] + 1, len(DAYS) // 7 + 1))
    mean = np.array(rates)[:, None] * effort * relative_use(DAYS, settings=truth)
    mean = mean * np.exp(weeks[groups][:, (DAYS - DAYS[0]) // 7])
    watched = effort > 0
    visits = np.zeros(mean.shape, dtype=np.int64)
    visits[watched] = rng.negative_binomial(mean[watched] / (spread - 1), 1 / spread)
    return SeasonCounts(
        days=DAYS, visits=visits, camera_nights=effort, groups=groups, scrapes=np.arange(rows)
    )

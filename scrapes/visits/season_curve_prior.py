"""The seven figures of the season's curve as a prior: where practice puts them, and how firmly."""

from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_settings import SeasonFitSettings
from scrapes.visits.settings import SeasonSettings

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]

IN_DAYS = ("lead_days", "second_lag_days")
IN_LOGARITHMS = ("climb_days", "fall_days", "second_days", "second_height", "off_season_level")
FIGURES = (*IN_DAYS, *IN_LOGARITHMS)
_LEVELS = ("second_height", "off_season_level")

_STEP = 1e-4
_DRAWS = 1000
_SEED = 20
_SMALLEST = 1e-3


class CurvePrior:
    """Between the seven figures and places in spreads of their prior, 0 being the setting."""

    def __init__(self, prior: SeasonSettings, settings: SeasonFitSettings) -> None:
        self._prior = prior
        limits = {field.name: field.metadata for field in fields(SeasonSettings)}
        lowest = np.array([max(_SMALLEST, limits[name]["minimum"]) for name in IN_LOGARITHMS])
        self._low = np.concatenate([[limits[name]["minimum"] for name in IN_DAYS], np.log(lowest)])
        self._high = np.concatenate(
            [
                [limits[name]["maximum"] for name in IN_DAYS],
                np.log([limits[name]["maximum"] for name in IN_LOGARITHMS]),
            ]
        )
        logs = [max(_SMALLEST, getattr(prior, name)) for name in IN_LOGARITHMS]
        self._centre = np.concatenate([[getattr(prior, name) for name in IN_DAYS], np.log(logs)])
        spreads = [
            settings.level_spread if name in _LEVELS else settings.width_spread
            for name in IN_LOGARITHMS
        ]
        self._spread = np.concatenate([np.full(len(IN_DAYS), settings.day_spread), np.log(spreads)])

    @property
    def bounds(self) -> list[tuple[float, float]]:
        low = (self._low - self._centre) / self._spread
        high = (self._high - self._centre) / self._spread
        return [(float(one), float(other)) for one, other in zip(low, high, strict=True)]

    def settings_at(self, place: Floats) -> SeasonSettings:
        plain = np.clip(self._centre + place * self._spread, self._low, self._high)
        plain[len(IN_DAYS) :] = np.exp(plain[len(IN_DAYS) :])
        values = {name: float(value) for name, value in zip(FIGURES, plain, strict=True)}
        return replace(self._prior, **values)

    def slopes(self, place: Floats, days: Integers) -> Floats:
        """d log use / d place, shape (days, 7), by central differences."""
        columns = []
        for number in range(len(place)):
            step = np.zeros(len(place))
            step[number] = _STEP
            above, below = (
                np.log(relative_use(days, settings=self.settings_at(place + sign * step)))
                for sign in (1, -1)
            )
            columns.append((above - below) / (2 * _STEP))
        return np.stack(columns, axis=1)

    def draws(self, place: Floats, covariance: Floats) -> tuple[SeasonSettings, ...]:
        """Seeded draws of the posterior, kept within the settings' bounds."""
        drawn = np.random.default_rng(_SEED).multivariate_normal(place, covariance, size=_DRAWS)
        return tuple(self.settings_at(one) for one in drawn)

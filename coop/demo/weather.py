"""Invented weather: one wind over the hills, with a front every four days that turns it.

Air comes from the south-east after a high, veers through south and south-west ahead of the
front, jumps to north-west behind it and dies away from the north. The four days are laid so that
the coming evening of tomorrow blows from the south-west, as the evenings of three and of seven
days ago did. Pure: arrays in, arrays out.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FRONT_EVERY_H = 96.0
_SHIFT_H = 3.2

# Share of the four days; wind from (degrees, unwrapped); speed; cloud.
_CYCLE = np.array(
    [
        (0.00, 150.0, 2.2, 0.15),
        (0.20, 190.0, 3.0, 0.25),
        (0.45, 225.0, 4.4, 0.45),
        (0.62, 250.0, 5.2, 0.85),
        (0.68, 300.0, 6.2, 0.95),
        (0.80, 325.0, 4.8, 0.40),
        (0.92, 360.0, 2.8, 0.10),
        (1.00, 510.0, 2.2, 0.15),
    ]
)
_RAIN_SHARE = (0.58, 0.69)
_DAY_SWING = 0.22


@dataclass(frozen=True, kw_only=True)
class Weather:
    """Hour by hour, arrays of shape (hours,).

    ``hour`` counts from today's local midnight. ``wind_from_deg`` lies in [0, 360).
    """

    hour: NDArray[np.int64]
    wind_from_deg: Floats
    speed_mps: Floats
    gust_mps: Floats
    temperature_c: Floats
    cloud_fraction: Floats
    rain_mm: Floats

    def taken(self, chosen: NDArray[np.bool_]) -> "Weather":
        """The hours that ``chosen``, shape (hours,), marks."""
        return Weather(**{each.name: getattr(self, each.name)[chosen] for each in fields(self)})


def weather(*, first_hour: int, last_hour: int, seed: int, turned_deg: float = 0.0) -> Weather:
    """The weather of hours ``first_hour`` to ``last_hour``, both included.

    ``turned_deg`` is what the lie of one property's hills does to the wind.
    """
    rng = np.random.default_rng(seed)
    hour = np.arange(first_hour, last_hour + 1)
    share = ((hour + _SHIFT_H) / FRONT_EVERY_H) % 1.0
    direction, speed, cloud = (np.interp(share, _CYCLE[:, 0], _CYCLE[:, col]) for col in (1, 2, 3))
    # Hours of the local day, near enough: the clocks may have changed since.
    swing = 1.0 - _DAY_SWING * np.cos(2 * np.pi * (hour % 24 - 3) / 24)
    speed = np.clip(speed * swing + 0.4 * _wandering(rng, len(hour), memory=0.7), 0.0, None)
    gusty = 1.35 + 0.15 * (np.abs(share - 0.7) < 0.08) + 0.05 * rng.random(len(hour))
    raining = (share > _RAIN_SHARE[0]) & (share < _RAIN_SHARE[1])
    return Weather(
        hour=hour,
        wind_from_deg=(direction + turned_deg + 9.0 * _wandering(rng, len(hour), memory=0.6)) % 360,
        speed_mps=speed,
        gust_mps=speed * gusty,
        temperature_c=6.0
        - 5.0 * np.cos(2 * np.pi * (hour % 24 - 3) / 24)
        + 4.0 * np.sin(2 * np.pi * (share - 0.2)),
        cloud_fraction=np.clip(cloud + 0.1 * rng.standard_normal(len(hour)), 0.0, 1.0),
        rain_mm=np.where(raining, np.round(rng.gamma(1.5, 0.8, len(hour)), 1), 0.0),
    )


def forecast_of(truth: Weather, *, seed: int) -> Weather:
    """What a forecast issued at hour 0 says of ``truth``: the farther ahead, the farther off."""
    rng = np.random.default_rng(seed)
    count = len(truth.hour)
    lead_days = np.maximum(truth.hour, 0) / 24
    error_deg = (3.0 + 2.5 * lead_days) * _wandering(rng, count, memory=0.95)
    factor = np.exp(0.08 * _wandering(rng, count, memory=0.9))
    return Weather(
        hour=truth.hour,
        wind_from_deg=(truth.wind_from_deg + error_deg) % 360,
        speed_mps=truth.speed_mps * factor,
        gust_mps=truth.gust_mps * factor,
        temperature_c=truth.temperature_c + 0.5 * lead_days * rng.standard_normal(count),
        cloud_fraction=truth.cloud_fraction,
        rain_mm=truth.rain_mm,
    )


def _wandering(rng: np.random.Generator, count: int, *, memory: float) -> Floats:
    """A first-order autoregressive series of unit variance, shape (count,)."""
    steps = rng.standard_normal(count)
    series = np.empty(count)
    value = 0.0
    for index, step in enumerate(steps.tolist()):
        value = memory * value + np.sqrt(1 - memory**2) * step
        series[index] = value
    return series

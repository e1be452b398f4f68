"""From dilution to the chance of being smelled in one ten-minute step.

The dose response of a pair of source and nose is a function of the angle between the
plume's axis and the line from one to the other, even and narrow. It is held as waves round
the circle: wandering then only damps each wave, and turning the axis only shifts it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from properties.wind import wander
from properties.wind.air import StandAir
from properties.wind.dispersion import (
    CLASS_LETTERS,
    NEUTRAL,
    across_slope,
    relative_concentration,
)
from properties.wind.settings import WindSettings

FloatArray = npt.NDArray[np.float64]
SingleArray = npt.NDArray[np.float32]
BoolArray = npt.NDArray[np.bool_]

ALERT_SPEED_MPS: Final = 3.0
_SURELY_SMELLED: Final = 1.0 - 1e-6
# Plumes of every class have the same shape in multiples t of the half-angle: one set of
# nodes serves all. At t = 5.6 even a nose beside the source is past the edge.
_MULTIPLE_STEP: Final = 0.4
_MULTIPLES: Final = np.arange(0.0, 5.7, _MULTIPLE_STEP)


def alert_concentration(settings: WindSettings) -> float:
    """C/Q on the axis at the alert distance in neutral air at 3 m/s, source near the ground."""
    return float(
        relative_concentration(
            stability=NEUTRAL,
            speed_mps=ALERT_SPEED_MPS,
            downwind_m=settings.alert_distance_m,
            across_m=0.0,
            source_height_m=settings.ground_source_height_m,
            nose_height_m=settings.nose_height_m,
        )
    )


def dose_response(relative: npt.ArrayLike, *, settings: WindSettings) -> FloatArray:
    """Chance that a nose at C/Q smells the hunter: C²/(C² + χ²), χ the alert concentration."""
    squared = np.square(np.asarray(relative, dtype=float))
    return np.asarray(squared / (squared + alert_concentration(settings) ** 2))


def filtered(distance_m: FloatArray, *, cover: str, settings: WindSettings) -> FloatArray:
    """Factor on faintness by which cover takes scent out of the air: 2 at its reach."""
    return np.asarray(1.0 + np.power(distance_m / settings.reach_of(cover), 8))


def _angles() -> FloatArray:
    """Angles off the axis at which the dose response is taken; (classes, nodes), radians."""
    return np.arctan(across_slope(np.arange(len(CLASS_LETTERS)))[:, None] * _MULTIPLES)


@dataclass(frozen=True, kw_only=True, eq=False)
class Paths:
    """From sources to noses at one source height; arrays over pairs.

    ``faintness`` (classes, pairs, nodes) is (χ ÷ C at 1 m/s)²: wind divides C, so that the
    dose response at u is 1/(1 + u² · faintness). Only classes in use are filled.
    """

    bearing_rad: FloatArray
    faintness: SingleArray
    near: BoolArray

    @property
    def pairs(self) -> int:
        return len(self.bearing_rad)


def paths(
    *,
    sources: FloatArray,
    noses: FloatArray,
    source_height_m: float,
    cover: str,
    classes: npt.ArrayLike,
    settings: WindSettings,
) -> Paths:
    """Every source (s, 2) with every nose (n, 2), pairs in the order source by source."""
    east, north = np.moveaxis(noses[None, :, :] - sources[:, None, :], -1, 0).reshape(2, -1)
    distance = np.hypot(east, north)
    reachable = np.maximum(distance, settings.near_m)
    angles = _angles()
    alert = alert_concentration(settings)
    faintness = np.zeros((*angles.shape[:1], distance.size, angles.shape[1]), dtype=np.float32)
    for kind in np.unique(np.asarray(classes)):
        relative = relative_concentration(
            stability=kind,
            speed_mps=1.0,
            downwind_m=reachable[:, None] * np.cos(angles[kind]),
            across_m=reachable[:, None] * np.sin(angles[kind]),
            source_height_m=source_height_m,
            nose_height_m=settings.nose_height_m,
        )
        faintness[kind] = np.square(alert / np.maximum(relative, alert * 1e-15))
        faintness[kind] *= filtered(distance, cover=cover, settings=settings)[:, None]
    return Paths(
        bearing_rad=np.arctan2(east, north),
        faintness=faintness,
        near=distance < settings.near_m,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Waves:
    """The pairs' bearings as waves, and the weights that turn dose responses into waves.

    ``shape`` (pairs, 1 + 2·modes): 1, cos nb, sin nb. ``weights`` (classes, nodes,
    1 + 2·modes): quadrature over the angle off the axis.
    """

    modes: int
    shape: SingleArray
    weights: FloatArray


def waves(along: Paths, *, modes: int) -> Waves:
    """Bearings and weights of the pairs ``along`` as waves of up to ``modes`` turns."""
    order = np.arange(1, modes + 1)
    turned = along.bearing_rad[:, None] * order
    shape = np.concatenate([np.ones((along.pairs, 1)), np.cos(turned), np.sin(turned)], axis=1)
    angles = _angles()
    slope = across_slope(np.arange(len(CLASS_LETTERS)))[:, None]
    width = _MULTIPLE_STEP * slope / (1.0 + np.square(slope * _MULTIPLES)) / np.pi
    width[:, 0] /= 2.0
    cosines = 2.0 * width[:, :, None] * np.cos(order * angles[:, :, None])
    weights = np.concatenate([width[:, :, None], cosines, cosines], axis=2)
    return Waves(modes=modes, shape=shape.astype(np.float32), weights=weights)


def step_chances(along: Paths, held: Waves, *, air: StandAir, error_rad: FloatArray) -> SingleArray:
    """Chance of being smelled within one step, averaged over wandering; (times, pairs, nodes).

    ``air`` holds arrays of shape (times,), ``error_rad`` (times, nodes) is added to the
    axis. Calm and variable air give the same chance on every side.
    """
    damping = wander.moments(air.wander_rad, count=held.modes)
    damping = np.concatenate([np.ones((len(damping), 1)), damping, damping], axis=1)
    weights = (held.weights[air.stability] * damping[:, None, :]).astype(np.float32)
    dose = along.faintness[air.stability]
    dose *= np.square(air.speed_mps).astype(np.float32)[:, None, None]
    dose += np.float32(1.0)
    np.reciprocal(dose, out=dose)
    coefficients = np.matmul(dose, weights)
    coefficients *= held.shape
    coefficients[:, along.near, 0] = 1.0
    coefficients[:, along.near, 1:] = 0.0
    axis = (air.axis_rad[:, None] + error_rad)[:, None, :] * np.arange(1, held.modes + 1)[:, None]
    turns = np.concatenate([np.ones_like(axis[:, :1]), np.cos(axis), np.sin(axis)], axis=1)
    chances = np.matmul(coefficients, turns.astype(np.float32))
    return np.clip(chances, 0.0, _SURELY_SMELLED, out=chances)

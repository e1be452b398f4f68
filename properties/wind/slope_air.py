"""Slope air: uphill where the sun warms a slope, downhill where it does not."""

import numpy as np
import numpy.typing as npt

from properties.wind.settings import WindSettings

FloatArray = npt.NDArray[np.float64]


def sun_on_slope(
    *,
    sun_elevation_deg: npt.ArrayLike,
    sun_azimuth_deg: npt.ArrayLike,
    slope_deg: float,
    slope_aspect_deg: float,
) -> FloatArray:
    """Sine of the sun's height above the slope itself; negative where the slope is in shadow.

    cos β sin h + sin β cos h cos(azimuth − aspect): the usual cosine of incidence. Ridges
    and trees that stand between are not known.
    """
    elevation = np.deg2rad(np.asarray(sun_elevation_deg, dtype=float))
    tilt = np.deg2rad(slope_deg)
    turn = np.deg2rad(np.asarray(sun_azimuth_deg, dtype=float) - slope_aspect_deg)
    return np.asarray(
        np.cos(tilt) * np.sin(elevation) + np.sin(tilt) * np.cos(elevation) * np.cos(turn)
    )


def upslope_speed_mps(
    *,
    sun_elevation_deg: npt.ArrayLike,
    sun_azimuth_deg: npt.ArrayLike,
    sun_rising: npt.ArrayLike,
    cloud_fraction: npt.ArrayLike,
    wind_10m_mps: npt.ArrayLike,
    slope_deg: float,
    slope_aspect_deg: float | None,
    settings: WindSettings,
) -> FloatArray:
    """Slope air in m/s, uphill positive, downhill negative; zero on the flat.

    The air turns uphill later in the morning, and downhill only just before the slope falls
    into shadow: hence two turning points, chosen by the sun's trend. Wind above the light
    leaves nothing of it, and cloud damps it. All array arguments broadcast and are finite.
    """
    wind = np.asarray(wind_10m_mps, dtype=float)
    if slope_aspect_deg is None or slope_deg <= 0:
        return np.zeros(np.broadcast_shapes(wind.shape, np.shape(sun_elevation_deg)))
    incidence = sun_on_slope(
        sun_elevation_deg=sun_elevation_deg,
        sun_azimuth_deg=sun_azimuth_deg,
        slope_deg=slope_deg,
        slope_aspect_deg=slope_aspect_deg,
    )
    turning = np.where(
        np.asarray(sun_rising, dtype=bool), settings.slope_turn_rising, settings.slope_turn_sinking
    )
    night = np.asarray(sun_elevation_deg, dtype=float) <= 0.0
    drive = np.where(night, -1.0, np.clip((incidence - turning) / 0.15, -1.0, 1.0))
    sine, full_sine = np.sin(np.deg2rad([slope_deg, settings.full_slope_deg]))
    steepness = min(1.0, sine / full_sine)
    clear = 1.0 - settings.slope_cloud_damping * np.asarray(cloud_fraction, dtype=float)
    span = max(settings.slope_none_above_mps - settings.slope_full_below_mps, 1e-6)
    light = np.clip((settings.slope_none_above_mps - wind) / span, 0.0, 1.0)
    return np.asarray(settings.slope_air_mps * steepness * clear * light * drive)


def slope_air_components(
    upslope_mps: npt.ArrayLike, slope_aspect_deg: float | None
) -> tuple[FloatArray, FloatArray]:
    """East and north motion of slope air; the aspect is the direction that a slope faces."""
    upslope = np.asarray(upslope_mps, dtype=float)
    aspect = np.deg2rad(slope_aspect_deg or 0.0)
    return -upslope * np.sin(aspect), -upslope * np.cos(aspect)

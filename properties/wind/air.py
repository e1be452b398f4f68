"""A session's air: as forecast or observed, and as it moves at a stand."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from properties.wind import sectors, slope_air, stability, wander
from properties.wind.circular import wind_components
from properties.wind.places import StandPlace
from properties.wind.settings import WindSettings

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

# What no air does; what is *believed* of a source is bounded where it comes in.
_MOST_RAIN_MM = 500.0
_MOST_SPEED_MPS = 113.2  # strongest gust measured near the ground, Barrow Island 1996 (from memory)


@dataclass(frozen=True, kw_only=True, eq=False)
class AirHours:
    """The air of one session, hour by hour; every array has shape (hours,).

    ``steps`` is the number of ten-minute steps hunted in the hour: 6 for a whole one, a
    fraction where the session begins or ends within it, 0 for an hour that is only walked.
    The approach is walked in the first hour, the exit in the last. Wind is at 10 m. A NaN
    direction with a known speed is variable wind; a NaN gust is no gust; NaN cloud is
    unknown. The error is a standard deviation. ``known`` is False where the forecast or
    observation is missing.
    """

    wind_from_deg: FloatArray
    speed_mps: FloatArray
    gust_mps: FloatArray
    cloud_fraction: FloatArray
    sun_elevation_deg: FloatArray
    sun_azimuth_deg: FloatArray
    sun_rising: BoolArray
    direction_error_deg: FloatArray
    known: BoolArray
    steps: FloatArray
    rain_mm: FloatArray

    def __post_init__(self) -> None:
        shape = self.wind_from_deg.shape
        for each in fields(self):
            if getattr(self, each.name).shape != shape:
                raise ValueError(f"{each.name} must have shape {shape}, as every hourly array")
        if not np.all((self.steps >= 0) & (self.steps <= wander.STEPS_PER_HOUR)):
            raise ValueError("an hour has from 0 to 6 steps")

    @property
    def hours(self) -> int:
        return int(self.wind_from_deg.shape[-1])


def checked(air: AirHours, settings: WindSettings) -> AirHours:
    """The same air with what is impossible taken out.

    An hour is known only with a possible speed, a direction within a turn of the circle (or
    none: variable) and a sun above or below the horizon by no more than it can be; the
    numbers of other hours are made harmless. Impossible gusts, cloud and rain count as not
    given, an unknown error as the greatest.
    """
    variable = np.isnan(air.wind_from_deg)
    speed = _within(air.speed_mps, 0.0, _MOST_SPEED_MPS)
    direction = variable | _within(air.wind_from_deg, -360.0, 720.0)
    sun = _within(air.sun_elevation_deg, -90.0, 90.0) & _within(air.sun_azimuth_deg, -720.0, 720.0)
    known = air.known & speed & direction & sun
    return replace(
        air,
        known=known,
        speed_mps=np.where(known, air.speed_mps, 1.0),
        wind_from_deg=np.where(known | variable, air.wind_from_deg, 0.0),
        sun_elevation_deg=np.where(known, air.sun_elevation_deg, 0.0),
        sun_azimuth_deg=np.where(known, air.sun_azimuth_deg, 0.0),
        gust_mps=_given(air.gust_mps, _MOST_SPEED_MPS, otherwise=0.0),
        cloud_fraction=_given(air.cloud_fraction, 1.0, otherwise=settings.cloud_when_unknown),
        rain_mm=_given(air.rain_mm, _MOST_RAIN_MM, otherwise=0.0),
        direction_error_deg=_given(
            air.direction_error_deg, 180.0, otherwise=settings.error_most_deg
        ),
    )


def _within(values: FloatArray, least: float, most: float) -> BoolArray:
    return np.asarray((values >= least) & (values <= most))


def _given(values: FloatArray, most: float, *, otherwise: float) -> FloatArray:
    return np.where(_within(values, 0.0, most), values, otherwise)


def stacked(sessions: Sequence[AirHours]) -> tuple[AirHours, IntArray]:
    """Sessions as one :class:`AirHours` of shape (sessions, hours), and each one's last hour.

    Shorter sessions are filled with their last hour, known and not hunted in. Raises
    ValueError for a session without hours.
    """
    counts = np.array([air.hours for air in sessions])
    if counts.size == 0 or counts.min() == 0:
        raise ValueError("a session needs at least one hour")
    longest = int(counts.max())

    def filled(name: str) -> npt.NDArray[np.generic]:
        return np.stack(
            [np.pad(getattr(air, name), (0, longest - air.hours), mode="edge") for air in sessions]
        )

    arrays = {each.name: filled(each.name) for each in fields(AirHours)}
    beyond = np.arange(longest) >= counts[:, None]
    arrays["steps"] = np.where(beyond, 0.0, arrays["steps"])
    arrays["rain_mm"] = np.where(beyond, 0.0, arrays["rain_mm"])
    return AirHours(**arrays), counts - 1  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True, eq=False)
class StandAir:
    """The air at one height of one stand; arrays of shape (sessions, hours).

    ``axis_rad`` is where the air moves *to*; meaningless where ``wander_rad`` is infinite
    (calm and variable air). ``error_rad`` is the standard deviation of its error.
    """

    stability: IntArray
    speed_mps: FloatArray
    axis_rad: FloatArray
    wander_rad: FloatArray
    error_rad: FloatArray

    def hour(self, index: IntArray) -> "StandAir":
        """One hour of each session, kept as shape (sessions, 1)."""
        return StandAir(
            **{
                each.name: np.take_along_axis(getattr(self, each.name), index[:, None], axis=1)
                for each in fields(self)
            }
        )

    def sessions(self, which: slice) -> "StandAir":
        return StandAir(**{each.name: getattr(self, each.name)[which] for each in fields(self)})


def local_wind(stand: StandPlace, air: AirHours) -> tuple[FloatArray, FloatArray]:
    """Direction (degrees from; 0 where variable) and error (degrees) as learned at the stand.

    ``air`` has been :func:`checked`.
    """
    direction = np.where(np.isfinite(air.wind_from_deg), air.wind_from_deg, 0.0)
    offset = sectors.between_sectors(stand.wind_offset_deg, direction)
    spread = sectors.between_sectors(stand.wind_spread_deg, direction)
    return (direction + offset) % 360.0, np.hypot(air.direction_error_deg, spread)


def air_at_stand(
    *, stand: StandPlace, air: AirHours, height_m: float, settings: WindSettings
) -> StandAir:
    """What the air does at ``height_m`` of the stand.

    ``air`` has shape (sessions, hours) and has been :func:`checked`. In order: local offset,
    class from the wind at 10 m, wind at the height, cover, slope air, and then the rule of
    calm: below the calm speed every direction is as likely. Hours that are not known hold
    harmless numbers; the caller leaves them out.
    """
    speed_10m, cloud, elevation = air.speed_mps, air.cloud_fraction, air.sun_elevation_deg
    direction, error = local_wind(stand, air)
    kind = stability.stability_class(
        speed_mps=speed_10m, sun_elevation_deg=elevation, cloud_fraction=cloud
    )
    at_height = stability.speed_at_height(speed_10m, stability=kind, height_m=height_m)
    at_height = at_height * settings.speed_fraction_of(stand.cover)
    upslope = slope_air.upslope_speed_mps(
        sun_elevation_deg=elevation,
        sun_azimuth_deg=air.sun_azimuth_deg,
        sun_rising=air.sun_rising,
        cloud_fraction=cloud,
        wind_10m_mps=speed_10m,
        slope_deg=stand.slope_deg,
        slope_aspect_deg=stand.slope_aspect_deg,
        settings=settings,
    )
    wind_east, wind_north = wind_components(at_height, direction)
    slope_east, slope_north = slope_air.slope_air_components(upslope, stand.slope_aspect_deg)
    east, north = wind_east + slope_east, wind_north + slope_north
    moving = np.hypot(east, north)
    speed = np.maximum(moving, settings.calm_speed_mps)
    gust_factor = air.gust_mps / np.maximum(speed_10m, settings.calm_speed_mps)
    wandering = wander.wander_spread(
        stability=kind,
        speed_mps=speed,
        gust_factor=gust_factor,
        cover=stand.cover,
        settings=settings,
    )
    aimless = (moving < settings.calm_speed_mps) | ~np.isfinite(air.wind_from_deg)
    return StandAir(
        stability=kind,
        speed_mps=speed,
        axis_rad=np.arctan2(east, north),
        wander_rad=np.where(aimless, np.inf, wandering),
        error_rad=np.deg2rad(error),
    )


def forecast_hours(
    *,
    wind_from_deg: npt.ArrayLike,
    speed_mps: npt.ArrayLike,
    sun_elevation_deg: npt.ArrayLike,
    sun_azimuth_deg: npt.ArrayLike,
    sun_rising: npt.ArrayLike,
    lead_hours: npt.ArrayLike,
    settings: WindSettings,
    gust_mps: npt.ArrayLike = np.nan,
    cloud_fraction: npt.ArrayLike = np.nan,
    steps: npt.ArrayLike = wander.STEPS_PER_HOUR,
    rain_mm: npt.ArrayLike = 0.0,
    known: npt.ArrayLike = True,
) -> AirHours:
    """An :class:`AirHours` from arrays or single numbers, which are repeated for each hour.

    The error of direction follows from ``lead_hours``. A NaN speed is a missing hour.
    """
    given = {
        "wind_from_deg": wind_from_deg,
        "speed_mps": speed_mps,
        "gust_mps": gust_mps,
        "cloud_fraction": cloud_fraction,
        "sun_elevation_deg": sun_elevation_deg,
        "sun_azimuth_deg": sun_azimuth_deg,
        "direction_error_deg": wander.forecast_error_deg(lead_hours, settings=settings),
        "steps": steps,
        "rain_mm": rain_mm,
    }
    arrays = {name: np.atleast_1d(np.asarray(value, dtype=float)) for name, value in given.items()}
    flags = {
        name: np.atleast_1d(np.asarray(value, dtype=bool))
        for name, value in {"sun_rising": sun_rising, "known": known}.items()
    }
    shape = np.broadcast_shapes(*(array.shape for array in (*arrays.values(), *flags.values())))
    whole = {name: np.broadcast_to(array, shape).copy() for name, array in (arrays | flags).items()}
    hours = AirHours(**whole)
    return replace(hours, known=hours.known & np.isfinite(hours.speed_mps))

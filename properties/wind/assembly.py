"""From arrays of a judgement to one answer a session."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from properties.wind import sectors, wander
from properties.wind.air import AirHours, StandAir, local_wind
from properties.wind.answer import Cause, HourFit, PartFit, StandFit, stability_letter
from properties.wind.features import FeaturePoints
from properties.wind.judged import Judgement
from properties.wind.places import FloatArray, StandPlace
from properties.wind.settings import PARTS, WindSettings

IntArray = npt.NDArray[np.int64]

_CAUSES = (Cause.PLUME, Cause.TRAIL, Cause.SIGHT)
_SECTOR_MODES = 120


def answers(
    judged: Judgement,
    *,
    stand: StandPlace,
    where: FeaturePoints,
    air: AirHours,
    last_hour: IntArray,
    settings: WindSettings,
) -> list[StandFit]:
    """One answer for each session of ``judged``, in its order."""
    by_sector = sector_thousandths(stand=stand, air=air, settings=settings)
    gusty = air.known & (air.steps > 0) & (air.gust_mps > settings.gust_limit_mps)
    return [
        _answer(
            judged,
            session,
            hours=int(last_hour[session]) + 1,
            where=where,
            steps=air.steps[session],
            by_sector=tuple(int(share) for share in by_sector[session]),
            closed_by_gust=bool(stand.elevated and gusty[session].any()),
            settings=settings,
        )
        for session in range(len(last_hour))
    ]


def sector_thousandths(*, stand: StandPlace, air: AirHours, settings: WindSettings) -> IntArray:
    """How the session's wind at the stand spreads over 8 sectors, in thousandths; (sessions, 8).

    The learned offset is applied and the error of direction spread, slope air is not added:
    this is the wind that members name. Calm and variable hours count for every sector.
    All zero where no hunted hour is known.
    """
    direction, error = local_wind(stand, air)
    aimless = ~np.isfinite(air.wind_from_deg) | (air.speed_mps < settings.calm_speed_mps)
    spread = np.where(aimless, np.inf, np.deg2rad(error))
    chances = sectors.sector_chances(wander.moments(spread, count=_SECTOR_MODES), direction)
    steps = np.where(air.known, air.steps, 0.0)
    return sectors.per_mille((chances * steps[:, :, None]).sum(axis=1))


def _answer(
    judged: Judgement,
    session: int,
    *,
    hours: int,
    where: FeaturePoints,
    steps: FloatArray,
    by_sector: tuple[int, ...],
    closed_by_gust: bool,
    settings: WindSettings,
) -> StandFit:
    unknown = _unknown(judged, session, hours=hours, steps=steps, where=where)
    counted = judged.presence[session] > 0
    worst = np.where(counted, judged.worst_places[session], 0.0)
    part_worst = worst.max(axis=1, initial=0.0)
    is_known = not unknown
    known = judged.part_known[session] & bool(where.features)
    return StandFit(
        fit=float(judged.fit[session]) if is_known else None,
        worst_place=float(part_worst.max()) if is_known else None,
        fit_at_most=float(judged.fit[session]),
        worst_place_at_least=float(part_worst.max()),
        fit_range=(float(judged.fit_low[session]), float(judged.fit_high[session]))
        if is_known
        else None,
        parts={
            name: PartFit(
                fit=float(judged.part_fit[session, part]) if known[part] else None,
                worst_place=float(part_worst[part]) if known[part] else None,
            )
            for part, name in enumerate(PARTS)
        },
        hours=tuple(_hour(judged, session, hour, float(steps[hour])) for hour in range(hours)),
        unknown=unknown,
        sector_per_mille=by_sector,
        closed_by_gust=closed_by_gust,
        features=where.features,
        presence=judged.presence[session],
        chances=judged.chances[session],
        worst_places=judged.worst_places[session],
        hour_chances=judged.hour_chances[session, :hours],
        causes=tuple(
            tuple(_CAUSES[cause] for cause in of_part) for of_part in judged.cause[session]
        ),
        draws=judged.draws.of_session(session),
        settings=settings,
    )


def _hour(judged: Judgement, session: int, hour: int, steps: float) -> HourFit:
    if not judged.good[session, hour]:
        return HourFit(hour=hour, steps=steps)
    at = (session, hour)
    aimless = bool(np.isinf(judged.air.wander_rad[at]))
    air: StandAir = judged.air
    hunted = steps > 0
    counted = judged.presence[session, 1] > 0
    worst = np.where(counted, judged.hour_worst_places[at], 0.0).max(initial=0.0)
    return HourFit(
        hour=hour,
        steps=steps,
        fit=float(judged.hour_fit[at]) if hunted else None,
        worst_place=float(worst) if hunted else None,
        stability=stability_letter(int(air.stability[at])),
        speed_mps=float(air.speed_mps[at]),
        air_from_deg=None if aimless else float(np.rad2deg(air.axis_rad[at]) + 180.0) % 360.0,
        wander_deg=None if aimless else float(np.rad2deg(air.wander_rad[at])),
        error_deg=float(np.rad2deg(air.error_rad[at])),
    )


def _unknown(
    judged: Judgement, session: int, *, hours: int, steps: FloatArray, where: FeaturePoints
) -> tuple[str, ...]:
    """Sentences about what is not known; empty where everything is."""
    told = []
    if not where.features:
        told.append("No place that holds deer is mapped: nothing can be judged.")
    missing = [hour for hour in range(hours) if not judged.good[session, hour]]
    if missing:
        told.append(_missing_sentence(missing, hours))
    if not np.any(steps > 0):
        told.append("The session has no time on the stand.")
    return tuple(told)


def _missing_sentence(missing: Sequence[int], hours: int) -> str:
    if len(missing) == hours:
        return "Wind or sun is missing or impossible in every hour."
    *most, last = (str(hour + 1) for hour in missing)
    names = f"hours {', '.join(most)} and {last}" if most else f"hour {last}"
    return (
        f"Wind or sun is missing or impossible in {names} of {hours}, and the other hours tell "
        "only what the fit is at most."
    )

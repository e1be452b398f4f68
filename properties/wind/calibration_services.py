"""Hold the fits to account by what sits reported; suggest, never apply."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

import numpy as np
import numpy.typing as npt

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import features_of, setting_layers
from properties.stands.models import Stand
from properties.wind.alert_distance import AlertDistanceFit, fit_alert_distance
from properties.wind.calibration import as_chances, calibration
from properties.wind.evidence import SitOutcome, sit_outcomes_of
from properties.wind.fit_services import MODEL_EDITION
from properties.wind.learning_settings import CalibrationSettings
from properties.wind.models import FitCalibration
from properties.wind.settings import WindSettings
from properties.wind.sit_replay import smelled_chances
from properties.wind.stand_wind_queries import local_winds
from properties.wind.surroundings import surroundings_of

STEPS = np.arange(-2.0, 2.01, 0.5)
"""Candidates are the present alert distance times two to these powers."""
LEAST_M, MOST_M = 20.0, 2000.0

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Calibrated:
    """What a run found; ``without_forecast`` sits had no fit stored and are in no bin."""

    sits: int
    without_forecast: int
    suggested_m: float | None
    is_new: bool


def calibrate(*, land: Property, now: datetime) -> Calibrated:
    """Compare forecasts with outcomes, and fit the alert distance where reports are enough.

    The result is kept where it differs from the one before. The setting itself is left to
    people.
    """
    outcomes = sit_outcomes_of(land)
    settings = layered_settings.resolve(CalibrationSettings, *setting_layers(land))
    told = [outcome for outcome in outcomes if outcome.fit is not None]
    mark = _mark(land, outcomes, settings)
    held = FitCalibration.objects.filter(property=land).first()
    if held is not None and held.fingerprint == mark:
        return _calibrated(held.result, is_new=False)
    found = calibration(
        forecast_chance=as_chances([outcome.fit or 0.0 for outcome in told]),
        winded=np.array([outcome.winded > 0 for outcome in told], dtype=bool),
        alarmed=np.array([outcome.alarmed > 0 for outcome in told], dtype=bool),
        bins=settings.bins,
        confidence=settings.confidence,
    )
    result = {
        **found.as_dict(),
        "without_forecast": len(outcomes) - len(told),
        "confidence": settings.confidence,
        "alert_distance": _alert_distance(land, outcomes, settings),
    }
    FitCalibration.objects.update_or_create(
        property=land, defaults={"computed_at": now, "fingerprint": mark, "result": result}
    )
    return _calibrated(result, is_new=True)


def _calibrated(result: dict[str, Any], *, is_new: bool) -> Calibrated:
    suggested = result["alert_distance"]["suggested"]
    return Calibrated(
        sits=result["sits"],
        without_forecast=result["without_forecast"],
        suggested_m=suggested["distance_m"] if suggested else None,
        is_new=is_new,
    )


def _alert_distance(
    land: Property, outcomes: Sequence[SitOutcome], settings: CalibrationSettings
) -> dict[str, Any]:
    """The setting in force, what reports suggest (or null), and why not."""
    present = layered_settings.resolve(WindSettings, *setting_layers(land)).alert_distance_m
    answer: dict[str, Any] = {"present_m": present, "suggested": None, "why_not": ""}
    usable = [each for each in outcomes if each.kind is not None and each.issue_id is not None]
    usable = usable[-settings.most_sits :]
    winded = sum(outcome.winded > 0 for outcome in usable)
    enough = min(winded, len(usable) - winded) >= settings.least_winded
    if len(usable) < settings.least_sits or not enough:
        answer["why_not"] = (
            f"{len(usable)} sits of one session with a known forecast, {winded} of them winded; "
            f"asked for are {settings.least_sits}, with {settings.least_winded} winded and "
            f"{settings.least_winded} not."
        )
        return answer
    candidates = np.unique(np.clip(present * 2.0**STEPS, LEAST_M, MOST_M))
    chances = smelled_chances(land, usable, alert_distances_m=candidates)
    known = np.isfinite(chances).all(axis=1)
    if not known.any():
        answer["why_not"] = "The wind of these sits is not known well enough to judge them anew."
        return answer
    fitted = fit_alert_distance(
        candidates_m=candidates,
        chances=chances[known],
        winded=np.array([outcome.winded > 0 for outcome in usable])[known],
        confidence=settings.confidence,
    )
    answer["suggested" if fitted.is_bounded else "unbounded"] = fitted.as_dict()
    answer["why_not"] = "" if fitted.is_bounded else _unbounded(fitted, candidates)
    return answer


def _unbounded(fitted: AlertDistanceFit, candidates: FloatArray) -> str:
    return (
        f"{fitted.sits} sits do not bound the distance between {candidates[0]:.0f} and "
        f"{candidates[-1]:.0f} m."
    )


def _mark(land: Property, outcomes: Sequence[SitOutcome], settings: CalibrationSettings) -> str:
    """A digest of everything the result follows from."""
    stands = list(Stand.objects.filter(property=land).order_by("id"))
    wind_settings = layered_settings.resolve(WindSettings, *setting_layers(land))
    around = surroundings_of(
        land, features=list(features_of(property_id=land.id)), settings=wind_settings
    )
    winds = local_winds(land, stands)
    told = [
        MODEL_EDITION,
        [asdict(outcome) for outcome in outcomes],
        asdict(settings),
        asdict(wind_settings),
        around.described,
        [[str(stand.id), stand.version, asdict(winds[stand.id])] for stand in stands],
    ]
    return hashlib.sha256(json.dumps(told, sort_keys=True, default=str).encode()).hexdigest()

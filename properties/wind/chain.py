"""The chain of numbers behind one fit, for JSON: whoever has a calculator can follow it."""

from typing import Any, Final

import numpy as np

from properties.wind.air import AirHours
from properties.wind.answer import StandFit
from properties.wind.places import FloatArray, StandPlace
from properties.wind.sectors import between_sectors
from properties.wind.settings import PARTS

# What the integration over wandering may be off by: a chance below it says nothing.
_NEGLIGIBLE: Final = 0.002
_GIVEN: Final = (
    "wind_from_deg",
    "speed_mps",
    "gust_mps",
    "cloud_fraction",
    "rain_mm",
    "sun_elevation_deg",
    "sun_azimuth_deg",
    "direction_error_deg",
)


def chain_of(fit: StandFit, *, air: AirHours, place: StandPlace) -> dict[str, Any]:
    """Everything between the forecast and the answer.

    To what :meth:`StandFit.as_dict` tells it adds: in each hour what was ``given`` and how
    the stand turns and spreads it; ``features`` with presence and chances by part and hour;
    ``draws``, from which fit = Σ share · weight · e^−(approach + hunt + exit); and the
    settings that turn fit into a verdict. Features whose chances lie below 0.002 are
    left out and counted. ``air`` is the session's, as given to the model.
    """
    told = fit.as_dict()
    for hour, given in zip(told["hours"], _given(air, place), strict=True):
        hour.update(given)
    named = [
        feature
        for feature in range(len(fit.features))
        if max(fit.chances[:, feature].max(), fit.worst_places[:, feature].max()) >= _NEGLIGIBLE
    ]
    return {
        **told,
        "features": [_feature(fit, feature) for feature in named],
        "features_left_out": len(fit.features) - len(named),
        "draws": _draws(fit),
        "judged_by": {
            "fit_floor": fit.settings.fit_floor,
            "worst_place_cap": fit.settings.worst_place_cap,
            "marginal_margin": fit.settings.marginal_margin,
            "alert_distance_m": fit.settings.alert_distance_m,
            "gust_limit_mps": fit.settings.gust_limit_mps,
        },
    }


def _given(air: AirHours, place: StandPlace) -> list[dict[str, Any]]:
    direction = np.where(np.isfinite(air.wind_from_deg), air.wind_from_deg, 0.0)
    offset = between_sectors(place.wind_offset_deg, direction)
    spread = between_sectors(place.wind_spread_deg, direction)
    columns = {name: getattr(air, name) for name in _GIVEN}
    return [
        {
            "given": {name: _number(column[hour]) for name, column in columns.items()},
            "stand_offset_deg": _number(offset[hour], 1),
            "stand_spread_deg": _number(spread[hour], 1),
        }
        for hour in range(air.hours)
    ]


def _feature(fit: StandFit, number: int) -> dict[str, Any]:
    feature = fit.features[number]
    return {
        "feature_id": feature.feature_id,
        "feature": feature.name,
        "kind": feature.kind,
        "deer": "stay" if feature.staying else "pass",
        "share": _number(feature.share),
        "parts": {
            name: {
                "presence": _number(fit.presence[part, number]),
                "chance": _number(fit.chances[part, number]),
                "worst_place": _number(fit.worst_places[part, number]),
                "cause": fit.causes[part][number].value,
            }
            for part, name in enumerate(PARTS)
        },
        "hour_chances": [_number(chance) for chance in fit.hour_chances[:, number]],
    }


def _draws(fit: StandFit) -> dict[str, Any]:
    draws = fit.draws
    return {
        "turn_deg": _numbers(np.rad2deg(draws.turn_rad), 1),
        "weight": _numbers(draws.weights, 6),
        "approach": _numbers(draws.approach),
        "exit": _numbers(draws.exit),
        "sources": [
            {"scent_from": name, "share": _number(share), "hunt": _numbers(hunt)}
            for name, share, hunt in zip(("seat", "ground"), draws.shares, draws.hunt, strict=False)
        ],
    }


def _numbers(values: FloatArray, digits: int = 4) -> list[float]:
    return [round(float(value), digits) + 0.0 for value in values]


def _number(value: float, digits: int = 4) -> float | None:
    return round(float(value), digits) + 0.0 if np.isfinite(value) else None

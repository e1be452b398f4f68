"""Fit the season's curve to a cooperative's visits and keep it, once a day at most."""

from dataclasses import asdict
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Cooperative, Property
from scrapes.visits.models import SeasonFit
from scrapes.visits.scrape_records import records_of, settings_from
from scrapes.visits.season_curve_counts import DAYS_FROM_PEAK, season_counts, season_weeks
from scrapes.visits.season_curve_fit import FittedSeason, fit_season
from scrapes.visits.season_curve_prior import FIGURES
from scrapes.visits.season_curve_settings import SeasonFitSettings

DRAWS_KEPT = 200


def fit_cooperatives_season(
    *, actor: Actor, cooperative: Cooperative, now: datetime
) -> SeasonFit | None:
    """Fit the curve to everything the cooperative's scrapes recorded, and store it.

    The last nights, as many as the longest window that the drop test may judge, teach nothing:
    a fall under judgement must not bend the curve that it is judged by. Run again on one day it
    takes the place of the fit before. None where the cooperative holds no property or scrape.
    """
    lands = list(
        Property.objects.filter(cooperative=cooperative, retired_at=None).order_by("name", "id")
    )
    for land in lands:
        actor.require(Action.JOB_START, land.id)
        land.cooperative = cooperative
    if not lands:
        return None
    settings = layered_settings.resolve(SeasonFitSettings, cooperative.settings)
    used = settings_from(cooperative.settings)
    today = local_date_on(lands[0], now)
    left_out = 2 * used.drop.window_nights
    records = records_of(
        lands,
        first_on=today - timedelta(days=settings.fit_days),
        last_on=today,
        now=now,
        settings=used,
    )
    if not records:
        return None
    found = fit_season(
        season_counts(records, nights=settings.fit_days + 1 - left_out, drop=used.drop),
        prior=used.season,
        assumed_dispersion=used.drop.dispersion,
        settings=settings,
    )
    return _store(
        cooperative,
        found,
        settings=settings,
        fitted_on=today,
        last_on=today - timedelta(days=left_out),
    )


@transaction.atomic
def _store(
    cooperative: Cooperative,
    found: FittedSeason,
    *,
    settings: SeasonFitSettings,
    fitted_on: date,
    last_on: date,
) -> SeasonFit:
    use, low, high = found.band(DAYS_FROM_PEAK.astype(np.float64))
    visits = int(found.counts.visits.sum())
    scrapes = len(np.unique(found.counts.scrapes))
    values: dict[str, Any] = {
        "last_on": last_on,
        "visits": visits,
        "camera_nights": float(found.counts.camera_nights.sum()),
        "scrapes": scrapes,
        "dispersion": found.dispersion,
        "confidence": found.confidence,
        "is_enough": visits >= settings.minimum_visits and scrapes >= settings.minimum_scrapes,
        "curve": asdict(found.settings),
        "draws": [
            {name: round(getattr(draw, name), 6) for name in FIGURES}
            for draw in found.draws[:DRAWS_KEPT]
        ],
        "figures": [asdict(one) for one in found.figures],
        "band": {
            "first_day": int(DAYS_FROM_PEAK[0]),
            "use": _rounded(use),
            "low": _rounded(low),
            "high": _rounded(high),
        },
        "weeks": [asdict(week) for week in season_weeks(found)],
    }
    row, _created = SeasonFit.objects.update_or_create(
        cooperative=cooperative, fitted_on=fitted_on, defaults=values
    )
    return row


def _rounded(values: "np.ndarray[Any, np.dtype[np.float64]]") -> list[float]:
    return [round(float(value), 4) for value in values]

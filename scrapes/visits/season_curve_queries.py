"""The season's curve in force on a property, as set or as its cooperative's visits taught it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

import numpy as np
from django.db.models import QuerySet

from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from scrapes.visits.models import SeasonFit
from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_settings import SeasonFitSettings
from scrapes.visits.settings import SeasonSettings

GROUP = "season_curve"


def latest_season_fit(land: Property, *, known_on: date) -> SeasonFit | None:
    """The newest fit of the property's cooperative that was made by that day."""
    return (
        SeasonFit.objects.filter(cooperative_id=land.cooperative_id, fitted_on__lte=known_on)
        .order_by("-fitted_on")
        .first()
    )


def season_as_set(land: Property) -> SeasonSettings:
    return layered_settings.resolve(SeasonSettings, *setting_layers(land))


def uses_fit(land: Property) -> bool:
    """Whether the property would follow a fit; one with figures of its own does not."""
    wanted = layered_settings.resolve(SeasonFitSettings, *setting_layers(land)).use_fit
    return wanted and not land.settings.get(GROUP)


@dataclass(frozen=True, kw_only=True)
class SeasonInForce:
    """The curve that is expected, and others that may as well be true; none of a curve as set."""

    curve: SeasonSettings
    draws: tuple[SeasonSettings, ...] = ()


def season_in_force(land: Property, *, known_on: date) -> SeasonInForce:
    """What is expected of the season there, knowing what was known on that day."""
    stored: tuple[Mapping[str, float], list[Mapping[str, float]]] | None = (
        _fits_in_force(land, known_on).values_list("curve", "draws").first()
        if uses_fit(land)
        else None
    )
    if stored is None:
        return SeasonInForce(curve=season_as_set(land))
    curve, draws = stored
    return SeasonInForce(
        curve=SeasonSettings(**curve), draws=tuple(SeasonSettings(**draw) for draw in draws)
    )


def _fits_in_force(land: Property, known_on: date) -> QuerySet[SeasonFit]:
    return SeasonFit.objects.filter(
        cooperative_id=land.cooperative_id, fitted_on__lte=known_on, is_enough=True
    ).order_by("-fitted_on")


@dataclass(frozen=True, kw_only=True)
class SeasonDay:
    """Expected use on one day from the peak; the fitted figures are None without a fit."""

    day: int
    as_set: float
    fitted: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class SeasonCurve:
    """What is expected on a property, what was set, and what the visits taught."""

    property: UUID
    peak_of_breeding: str
    in_force: str
    sentence: str
    curve: tuple[SeasonDay, ...]
    fit: SeasonFit | None


def season_curve(land: Property, *, now: datetime) -> SeasonCurve:
    """The curve of a property beside the newest fit of its cooperative."""
    known_on = local_date_on(land, now)
    fit = latest_season_fit(land, known_on=known_on)
    follows = uses_fit(land)
    return SeasonCurve(
        property=land.id,
        peak_of_breeding=land.peak_of_breeding_reckoned,
        in_force="fitted" if follows and _is_learned(land, known_on) else "as_set",
        sentence=_sentence(fit, follows=follows) + _peak_not_set(land),
        curve=_days(season_as_set(land), fit),
        fit=fit,
    )


def _is_learned(land: Property, known_on: date) -> bool:
    return _fits_in_force(land, known_on).exists()


def _days(as_set: SeasonSettings, fit: SeasonFit | None) -> tuple[SeasonDay, ...]:
    days = np.arange(-183, 184)
    use = relative_use(days, settings=as_set)
    if fit is None:
        return tuple(
            SeasonDay(day=int(day), as_set=round(float(one), 4), fitted=None, low=None, high=None)
            for day, one in zip(days, use, strict=True)
        )
    band = fit.band
    return tuple(
        SeasonDay(day=int(day), as_set=round(float(one), 4), fitted=fitted, low=low, high=high)
        for day, one, fitted, low, high in zip(
            days, use, band["use"], band["low"], band["high"], strict=True
        )
    )


def _peak_not_set(land: Property) -> str:
    if land.peak_of_breeding_as_set is not None:
        return ""
    return f" No peak of breeding is set here: {land.peak_of_breeding_reckoned} is taken."


def _sentence(fit: SeasonFit | None, *, follows: bool) -> str:
    if fit is None:
        return "Nothing was fitted yet: the curve is the one that was set, common practice."
    counted = (
        f"{fit.visits} visits at {fit.scrapes} scrapes in {fit.camera_nights:.0f} camera-nights, "
        f"up to {fit.last_on}"
    )
    if not fit.is_enough:
        return f"{counted}: too few to leave the curve that was set."
    lead = next(one for one in fit.figures if one["name"] == "lead_days")
    said = (
        f"{counted}: use is highest {lead['value']:.0f} days before the peak of breeding "
        f"({lead['low']:.0f} to {lead['high']:.0f} in {100 * fit.confidence:.0f} of 100)"
    )
    return f"{said}." if follows else f"{said}; this property keeps the curve that was set for it."

"""The jobs of this room: computing fits, and fetching forecasts."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings

from coop.access.actors import system_actor
from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.property_jobs import due_for, property_of, queue_for
from properties.land.services import PROPERTY_CHANGED
from properties.land.years import year_of
from properties.wind import (
    calibration_services,
    fit_services,
    history_services,
    learning_services,
    readings,
)
from properties.wind.forecast_client import ForecastClient, ForecastService
from properties.wind.gridpoint_forecast import read_gridpoint_forecast
from properties.wind.issue_checks import check_issue
from properties.wind.queries import plausible_weather
from properties.wind.services import FORECAST_ARRIVED, StoredForecast, store_forecast

COMPUTE_FITS = "wind.compute_fits"
FETCH_FORECAST = "wind.fetch_forecast"
LEARN = "wind.learn"
HISTORY = "wind.history"
FITS_COMPUTED = "wind.fits_computed"
GOVERNMENT = "government gridpoint"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(COMPUTE_FITS, compute_fits, urgency=registry.Urgency.SLOW)
    registry.register_job(FETCH_FORECAST, fetch_forecast)
    registry.register_job(LEARN, learn, urgency=registry.Urgency.SLOW)
    registry.register_job(HISTORY, sum_up_season, urgency=registry.Urgency.SLOW)
    registry.register_schedule(COMPUTE_FITS, fits_due)
    registry.register_schedule(FETCH_FORECAST, forecasts_due)
    registry.register_schedule(LEARN, learning_due)
    registry.register_schedule(HISTORY, histories_due)
    readings.register()
    for topic in (FORECAST_ARRIVED, PROPERTY_CHANGED):
        outbox.on_fact(topic, queue_fits)


def queue_fits(ids: Mapping[str, str], now: datetime) -> None:
    """A new forecast or a changed map: fits are computed anew, once for many causes."""
    queue_fits_of(property_id=UUID(ids["property"]), now=now)


def queue_fits_of(
    *, property_id: UUID, now: datetime, requested_by_id: UUID | None = None
) -> JobRun:
    """Fits of a property anew, soon; or the run that waits already."""
    return queue_for(property_id, name=COMPUTE_FITS, now=now, requested_by_id=requested_by_id)


def queue_learning(ids: Mapping[str, str], now: datetime) -> None:
    """A sit was reported: its stand's wind is learned anew. Wired by the floor of sits."""
    queue_learning_of(property_id=UUID(ids["property"]), now=now)


def queue_learning_of(
    *, property_id: UUID, now: datetime, requested_by_id: UUID | None = None
) -> JobRun:
    """The wind of a property's stands learned anew; or the run that waits already."""
    return queue_for(property_id, name=LEARN, now=now, requested_by_id=requested_by_id)


def learn(job: registry.JobContext) -> dict[str, Any]:
    """Learn the stands' own wind, and hold the fits to account; fits follow what changed."""
    land = property_of(job)
    learned = learning_services.learn_stand_winds(land=land, now=job.now)
    job.report(50, "comparing forecasts with what sits reported")
    calibrated = calibration_services.calibrate(land=land, now=job.now)
    if learned.changed:
        queue_fits_of(property_id=land.id, now=job.now)
    return {
        **asdict(learned),
        "reconciliation": learned.reconciliation,
        "calibration": asdict(calibrated),
    }


def queue_history_of(
    *,
    property_id: UUID,
    season_year: int,
    now: datetime,
    requested_by_id: UUID | None = None,
) -> JobRun:
    """A season's observed wind summed up anew; or the run that waits already."""
    return jobs.enqueue_unless_waiting(
        name=HISTORY,
        scope=f"{property_id}/{season_year}",
        now=now,
        parameters={"property": str(property_id), "season_year": season_year},
        property_id=property_id,
        requested_by_id=requested_by_id,
    )


def sum_up_season(job: registry.JobContext) -> dict[str, Any]:
    """Judge every stand on the observed wind of a season, as far as it is past."""
    land = property_of(job)
    try:
        done = history_services.sum_up_season(
            land=land,
            season_year=job.parameters["season_year"],
            today=local_date_on(land, job.now),
            now=job.now,
            report=job.report,
        )
    except history_services.NoSeason as nothing:
        return {"history": None, "note": str(nothing)}
    result = done.history.result
    return {
        "history": str(done.history.id),
        "is_new": done.is_new,
        "sessions": result["sessions"],
        "unobserved_sessions": result["unobserved_sessions"],
        "gaps": result["gaps"],
    }


def compute_fits(job: registry.JobContext) -> dict[str, Any]:
    """Fits of a property for today and the week ahead."""
    land = property_of(job)
    first_on, last_on = fit_services.horizon(land, job.now)
    done = fit_services.compute_fits(
        land=land, first_on=first_on, last_on=last_on, now=job.now, report=job.report
    )
    if done.computed:
        outbox.publish(topic=FITS_COMPUTED, ids={"property": land.id}, now=job.now)
    return {
        "computed": done.computed,
        "unchanged": done.unchanged,
        "stands": done.stands,
        "sessions": done.sessions,
        "forecast_issue": str(done.issue.id) if done.issue else None,
    }


def fetch_forecast(job: registry.JobContext) -> dict[str, Any]:
    """Ask the government's service for the forecast of a property's place."""
    land = property_of(job)
    stored, reconciliation = fetch_for(land, now=job.now)
    return {
        "issue": str(stored.issue.id),
        "is_new": stored.is_new,
        "reconciliation": reconciliation,
    }


def fetch_for(land: Property, *, now: datetime) -> tuple[StoredForecast, str]:
    """Fetch, read and keep the forecast of a property; returns it with its reconciliation.

    Raises what the client and the reader raise: refused, unavailable, unreadable.
    """
    service = ForecastService(user_agent=settings.WEATHER_USER_AGENT)
    with ForecastClient(service) as client:
        cell = client.find_cell(latitude_deg=land.latitude, longitude_deg=land.longitude)
        fetched = client.fetch_gridpoint(cell)
    found = read_gridpoint_forecast(fetched.document or b"", bounds=plausible_weather(land))
    check_issue(found, asked_for=cell, now=now)
    stored = store_forecast(
        actor=system_actor(FETCH_FORECAST), land=land, found=found, source=GOVERNMENT, now=now
    )
    return stored, found.reconciliation


def fits_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a local day the week ahead gains a day, with or without a new forecast."""
    for land in Property.objects.filter(retired_at=None):
        today, _last = fit_services.horizon(land, now)
        yield due_for(land.id, name=COMPUTE_FITS, period=f"{today}")


def learning_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a local day: observations may have come since a sit was reported."""
    for land in Property.objects.filter(retired_at=None):
        yield due_for(land.id, name=LEARN, period=f"{local_date_on(land, now)}")


def histories_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a week for the season's year that is running, or has just run out."""
    for land in Property.objects.select_related("cooperative").filter(retired_at=None):
        today = local_date_on(land, now)
        settings = history_services.settings_of(land)
        year = year_of(today - timedelta(days=7), first_month=settings.first_month)
        yield registry.DueJob(
            name=HISTORY,
            scope=f"{land.id}/{year}",
            period="{}-W{:02d}".format(*today.isocalendar()[:2]),
            property_id=land.id,
            parameters={"property": str(land.id), "season_year": year},
        )


def forecasts_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every hour for every property, where a User-Agent for the service is set."""
    if not settings.WEATHER_USER_AGENT:
        return
    for land in Property.objects.filter(retired_at=None):
        yield due_for(land.id, name=FETCH_FORECAST, period=f"{now:%Y-%m-%dT%H}")

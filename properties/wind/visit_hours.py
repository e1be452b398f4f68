"""When going to a place on foot does least harm: the same model, hour by hour."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import features_of, setting_layers
from properties.sessions.kinds import SessionKind
from properties.sessions.queries import place_of
from properties.sessions.sun_position import sun_positions
from properties.wind.air import forecast_hours
from properties.wind.columns import WeatherColumns
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.models import ForecastIssue
from properties.wind.places import StandPlace
from properties.wind.settings import WindSettings
from properties.wind.surroundings import surroundings_of

_HOUR = timedelta(hours=1)
WORK_STEPS = 3.0
"""Half an hour of work at the place, in ten-minute steps."""


@dataclass(frozen=True, kw_only=True)
class VisitHour:
    """One hour, and the chance that nobody smells a visitor who works half of it there."""

    starts_at: datetime
    fit: float
    wind_from_deg: float | None


def visit_hours(
    land: Property,
    *,
    longitude: float,
    latitude: float,
    hours: Sequence[datetime],
    issue: ForecastIssue,
) -> list[VisitHour]:
    """How each whole UTC hour suits a visit to one place; see :func:`visit_hours_of_places`."""
    (found,) = visit_hours_of_places(land, places=[(longitude, latitude)], hours=hours, issue=issue)
    return found


def visit_hours_of_places(
    land: Property,
    *,
    places: Sequence[tuple[float, float]],
    hours: Sequence[datetime],
    issue: ForecastIssue,
) -> list[list[VisitHour]]:
    """How each whole UTC hour suits a visit to each place (longitude, latitude), in both orders.

    Deer are expected where the settings put them in a morning or an evening; hours before
    local noon count as morning. Hours that the forecast does not hold are left out. The land is
    read once, however many the places.
    """
    if not places:
        return []
    settings = layered_settings.resolve(WindSettings, *setting_layers(land))
    around = surroundings_of(
        land, features=list(features_of(property_id=land.id)), settings=settings
    )
    metres = [around.frame.to_metres(*place) for place in places]
    visitors = [
        StandPlace(position=np.array([float(east), float(north)])) for east, north in metres
    ]
    zone = ZoneInfo(land.time_zone)
    weather = WeatherColumns.of_json(issue.hours).at(hours)
    sun = sun_positions(place_of(land), [hour + _HOUR / 2 for hour in hours])
    known = np.isfinite(weather["speed_mps"])
    sessions = [
        SessionAir(
            kind=SessionKind.MORNING if hour.astimezone(zone).hour < 12 else SessionKind.EVENING,
            air=forecast_hours(
                wind_from_deg=weather["wind_from_deg"][index],
                speed_mps=weather["speed_mps"][index],
                gust_mps=weather["gust_mps"][index],
                cloud_fraction=weather["cloud_fraction"][index],
                sun_elevation_deg=sun.elevation_deg[index],
                sun_azimuth_deg=sun.azimuth_deg[index],
                sun_rising=hour.astimezone(zone).hour < 12,
                lead_hours=max(0.0, (hour - issue.issued_at) / _HOUR),
                steps=WORK_STEPS,
                settings=settings,
            ),
        )
        for index, hour in enumerate(hours)
        if known[index]
    ]
    held = [hour for index, hour in enumerate(hours) if known[index]]
    directions = weather["wind_from_deg"][known]
    judged = stand_fits(
        stands=visitors, receptors=around.receptors, sessions=sessions, settings=settings
    )
    return [
        [
            VisitHour(
                starts_at=hour,
                fit=fit.fit if fit.fit is not None else 1.0,
                wind_from_deg=float(direction) if np.isfinite(direction) else None,
            )
            for hour, fit, direction in zip(held, fits, directions, strict=True)
            if fit.fit is not None or not around.receptors
        ]
        for fits in judged
    ]

"""The learned wind of stands: what an actor may see, and what fits are computed with."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.stands.models import Stand
from properties.wind.columns import WeatherColumns
from properties.wind.learning_settings import StandWindSettings
from properties.wind.models import ObservedHour, StandWind
from properties.wind.observed_columns import whole_hours
from properties.wind.surroundings import LocalWind
from properties.wind.weather_hours import WeatherHour


def stand_winds_visible_to(
    *, actor: Actor, action: Action = Action.STAND_WIND_READ
) -> QuerySet[StandWind]:
    return scoped(StandWind.objects.all(), actor=actor, action=action)


def stand_wind_settings(land: Property, stand: Stand) -> StandWindSettings:
    return layered_settings.resolve(StandWindSettings, *setting_layers(land), stand.settings)


def local_winds(land: Property, stands: Sequence[Stand]) -> Mapping[UUID, LocalWind]:
    """The wind of each stand as learned, or as the settings take it before any report."""
    rows = {row.stand_id: row for row in StandWind.objects.filter(stand__in=stands)}
    return {
        stand.id: _local_wind(rows[stand.id])
        if stand.id in rows
        else LocalWind(spread_deg=(stand_wind_settings(land, stand).prior_spread_deg,) * 8)
        for stand in stands
    }


def _local_wind(row: StandWind) -> LocalWind:
    return LocalWind(
        offset_deg=tuple(row.offset_deg),
        spread_deg=tuple(row.spread_deg),
        reports=row.reports,
        found_spread_deg=row.found_spread_deg,
        holds=row.holds,
    )


def observed_columns(land: Property, *, since: datetime, until: datetime) -> WeatherColumns:
    """What was observed on a property from ``since`` up to ``until``, in whole hours."""
    rows = ObservedHour.objects.filter(property=land, starts_at__range=(since, until)).defer("raw")
    return whole_hours(
        WeatherHour(
            instant=row.starts_at,
            # A direction without moving air is none, whoever wrote the row.
            wind_from_deg=row.wind_from_deg if row.speed_mps and not row.variable else None,
            speed_mps=row.speed_mps,
            variable=row.variable and row.speed_mps != 0,
            gust_mps=row.gust_mps,
            temperature_c=row.temperature_c,
            cloud_fraction=row.cloud_fraction,
            precipitation_mm=row.precipitation_mm,
            source=row.source,
        )
        for row in rows
    )

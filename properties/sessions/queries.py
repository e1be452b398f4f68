"""Seasons that an actor may see, and what a property's sessions hang on."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.sessions import seasons, windows
from properties.sessions.confirmation import is_unconfirmed
from properties.sessions.dated_light import DatedLight, LightSource, SettingsByDay
from properties.sessions.kinds import SessionKey
from properties.sessions.models import Season
from properties.sessions.place import Place
from properties.sessions.settings import SessionSettings

_light_sources: list[LightSource] = []


def register_dated_light(source: LightSource) -> None:
    """Let a room to the right tell hunting light by date; called once when the app is ready."""
    if source not in _light_sources:
        _light_sources.append(source)


def seasons_visible_to(*, actor: Actor, action: Action = Action.SEASON_READ) -> QuerySet[Season]:
    return scoped(Season.objects.all(), actor=actor, action=action)


def seasons_of(*, property_id: UUID) -> tuple[seasons.Season, ...]:
    """A property's seasons in the order they begin, as the pure rules take them."""
    rows = Season.objects.filter(property_id=property_id).order_by("first_on", "name", "id")
    return tuple(
        seasons.Season(
            name=row.name,
            first_on=row.first_on,
            last_on=row.last_on,
            weapons=frozenset(row.weapons),
        )
        for row in rows
    )


def is_season_unconfirmed(season: Season, *, now: datetime) -> bool:
    """Whether nobody entered or confirmed it within a year, or it names no page."""
    if not season.source_url:
        return True
    land = season.property
    read_at = max(season.entered_at or season.created_at, season.confirmed_at or season.created_at)
    return is_unconfirmed(local_date_on(land, read_at), today=local_date_on(land, now))


def place_of(land: Property) -> Place:
    """Where the property is, as far as sun and clock are concerned."""
    return Place(latitude_deg=land.latitude, longitude_deg=land.longitude, time_zone=land.time_zone)


def settings_of(land: Property) -> SessionSettings:
    """The layered settings, without what is entered by date: see :func:`settings_by_day`."""
    return layered_settings.resolve(SessionSettings, *setting_layers(land))


def settings_by_day(land: Property, *, first: date, last: date) -> SettingsByDay:
    """The settings of each local date, both included; hunting light as it is entered by date."""
    return settings_by_day_of([land], first=first, last=last)[land.id]


def settings_by_day_of(
    lands: Sequence[Property], *, first: date, last: date
) -> Mapping[UUID, SettingsByDay]:
    """The same for several properties, by id; as many queries as for one."""
    lights: dict[UUID, list[DatedLight]] = defaultdict(list)
    for source in _light_sources:
        for light in source([land.id for land in lands], first, last):
            lights[light.property_id].append(light)
    return {
        land.id: SettingsByDay(usual=settings_of(land), lights=tuple(lights[land.id]))
        for land in lands
    }


def settings_on(land: Property, on: date) -> SessionSettings:
    return settings_by_day(land, first=on, last=on).on(on)


def windows_of(
    land: Property, *, first: date, last: date, settings: SettingsByDay | None = None
) -> Mapping[SessionKey, windows.SessionWindow | windows.NoSession]:
    """Both sessions of each local date of a property, both dates included.

    ``settings`` are read unless the caller has those of the dates already.
    """
    by_day = settings or settings_by_day(land, first=first, last=last)
    place = place_of(land)
    found: dict[SessionKey, windows.SessionWindow | windows.NoSession] = {}
    for span in by_day.spans(first=first, last=last):
        found |= windows.session_windows(
            place=place, first=span.first_on, last=span.last_on, settings=span.settings
        )
    return found

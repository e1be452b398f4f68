"""Seasons that an actor may see, and what a property's sessions hang on."""

from collections.abc import Mapping
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.sessions import seasons, windows
from properties.sessions.kinds import SessionKey
from properties.sessions.models import Season
from properties.sessions.place import Place
from properties.sessions.settings import SessionSettings


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


def place_of(land: Property) -> Place:
    """Where the property is, as far as sun and clock are concerned."""
    return Place(latitude_deg=land.latitude, longitude_deg=land.longitude, time_zone=land.time_zone)


def settings_of(land: Property) -> SessionSettings:
    return layered_settings.resolve(SessionSettings, *setting_layers(land))


def windows_of(
    land: Property, *, first: date, last: date
) -> Mapping[SessionKey, windows.SessionWindow | windows.NoSession]:
    """Both sessions of each local date of a property, both dates included."""
    return windows.session_windows(
        place=place_of(land), first=first, last=last, settings=settings_of(land)
    )

"""Sheets and emergencies that an actor may see."""

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped, scoped_with_own
from properties.emergency.models import Emergency, EmergencySheet, NoteReading, StandEmergency
from properties.emergency.settings import EmergencySettings
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers


def sheets_visible_to(
    *, actor: Actor, action: Action = Action.EMERGENCY_SHEET_READ
) -> QuerySet[EmergencySheet]:
    return scoped(EmergencySheet.objects.all(), actor=actor, action=action)


def stand_emergencies_visible_to(
    *, actor: Actor, action: Action = Action.EMERGENCY_SHEET_READ
) -> QuerySet[StandEmergency]:
    return scoped(StandEmergency.objects.all(), actor=actor, action=action, field="stand__property")


def emergencies_visible_to(
    *, actor: Actor, action: Action = Action.EMERGENCY_READ
) -> QuerySet[Emergency]:
    """A manager's all; those one declared; those that are about oneself."""
    return scoped_with_own(
        Emergency.objects.all(),
        actor=actor,
        action=action,
        own=("declared_by", "person"),
    )


def readings_of(*, person_id: UUID) -> QuerySet[NoteReading]:
    """Who was shown a person's medical note, the latest first."""
    return (
        NoteReading.objects.filter(person=person_id)
        .select_related("emergency__property")
        .order_by("-read_at", "-id")
    )


def stands_at(emergency: Emergency, now: datetime) -> bool:
    """Whether an emergency is in force; at ``ends_at`` it no longer is."""
    return emergency.ended_at is None and now < emergency.ends_at


def settings_of(land: Property) -> EmergencySettings:
    return layered_settings.resolve(EmergencySettings, *setting_layers(land))

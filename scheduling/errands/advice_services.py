"""Advise again where ground was closed or opened after an errand was opened."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land import settings as layered_settings
from properties.land.closure_words import GROUND_CLOSED
from properties.land.local_dates import local_date_on
from properties.land.models import Closure, Property
from properties.land.queries import setting_layers
from properties.sessions.local_time import local_date_of
from scheduling.errands.advice import (
    LOOK_AHEAD_DAYS,
    Advice,
    Asked,
    advice_for_places,
    coming_closures,
)
from scheduling.errands.closed_ground import closed_words, closures_at, is_open
from scheduling.errands.models import Errand, ErrandState
from scheduling.errands.places import PlacedErrand, open_errands
from scheduling.errands.settings import ErrandSettings


def advise_again(*, actor: Actor, land: Property, now: datetime) -> int:
    """New advice for open errands whose own tells wrongly of closed ground; answers for how many.

    ``land`` comes with its cooperative. Run again it changes nothing; it asks as often for many
    errands as for few, apart from those that change.
    """
    actor.require(Action.ERRAND_WRITE, land.id)
    standing = open_errands(land)
    if not standing:
        return 0
    zone = ZoneInfo(land.time_zone)
    until = max(one.errand.due_on for one in standing)
    closures = coming_closures(land, until=until, now=now)
    asked = [(one.errand, _asked(one, closures, land=land, now=now)) for one in standing]
    stale = [(errand, one) for errand, one in asked if not _tells(errand, one, zone, now)]
    if not stale:
        return 0
    settings = layered_settings.resolve(ErrandSettings, *setting_layers(land))
    found = advice_for_places(land, [one for _errand, one in stale], settings=settings, now=now)
    return sum(
        _write(errand, advice, actor=actor, now=now)
        for (errand, _one), advice in zip(stale, found, strict=True)
        if errand.advice != advice.text or errand.go_from != advice.go_from
    )


def _asked(
    one: PlacedErrand, closures: Iterable[Closure], *, land: Property, now: datetime
) -> Asked:
    today = local_date_on(land, now)
    until = max(one.errand.due_on, today + timedelta(days=LOOK_AHEAD_DAYS))
    near = [row for row in closures if row.first_on <= until]
    return Asked(place=one.place, closures=closures_at(near, one.place, land=land))


def _tells(errand: Errand, asked: Asked, zone: ZoneInfo, now: datetime) -> bool:
    """Whether the advice tells of the closures as they stand, and names an hour that is open."""
    said = closed_words(asked.closures, today=local_date_of(now, zone))
    if not said:
        return not errand.advice.startswith(GROUND_CLOSED)
    if not errand.advice.startswith(said) or errand.go_from is None:
        return False
    return is_open(errand.go_from, asked.closures, zone)


@transaction.atomic
def _write(errand: Errand, advice: Advice, *, actor: Actor, now: datetime) -> bool:
    locked = _locked_open(errand.id)
    if locked is None:
        return False
    writing.change(
        locked,
        {"advice": advice.text, "go_from": advice.go_from, "go_until": advice.go_until},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=locked.property_id,
        reason="closed ground",
    )
    return True


def _locked_open(errand_id: UUID) -> Errand | None:
    rows = Errand.objects.select_for_update(of=("self",)).filter(state=ErrandState.OPEN)
    return rows.filter(id=errand_id).first()

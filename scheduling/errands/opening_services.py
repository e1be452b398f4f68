"""Open errands; nobody is sent twice for one thing."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.incidents.models import Incident
from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.regulations.permitted import UseObjection, refresh_objection
from properties.stands.models import Stand
from scheduling.errands.advice import Advice, advice_for
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.places import Thing, place_of
from scheduling.errands.settings import ErrandSettings
from scrapes.cameras.models import CameraUnit
from scrapes.sites.models import Scrape

LONGEST_REASON = 500


@transaction.atomic
def open_errand(
    *,
    actor: Actor,
    kind: ErrandKind,
    thing: Thing,
    reason: str,
    now: datetime,
    facts: Mapping[str, Any] | None = None,
    place: tuple[float, float] | None = None,
    due_on: date | None = None,
    recurs: bool = False,
) -> Errand:
    """Open an errand about a scrape, camera, stand or incident, or return the one that stands open.

    ``place`` is longitude and latitude of where to go, for the least harmful hour; without
    it the thing's own place is taken. A cause of its own takes the place of the calendar's: an
    errand that stands open only because it recurs is given the new reason and the earlier date.
    Raises :class:`coop.api.problems.Refused` where regulations or the lease forbid the work.
    """
    # Two causes at a time: the second finds what the first one opened.
    land = (
        Property.objects.select_for_update(of=("self",))
        .select_related("cooperative")
        .get(id=thing.property_id)
    )
    actor.require(Action.ERRAND_WRITE, land.id)
    objection = errand_objection(kind, land, now=now)
    if objection is not None:
        raise objection.refused()
    settings = layered_settings.resolve(ErrandSettings, *setting_layers(land))
    today = local_date_on(land, now)
    due_on = due_on or today + timedelta(days=settings.due_after_days)
    standing = Errand.objects.filter(kind=kind, thing_id=thing.id, state=ErrandState.OPEN).first()
    if standing is not None:
        given = {"reason": reason[:LONGEST_REASON], "facts": dict(facts or {}), "due_on": due_on}
        if recurs or not standing.recurs:
            return standing
        return _given_a_cause(standing, given, actor=actor, now=now)
    advice = advice_for(land, place or place_of(thing), due_on=due_on, settings=settings, now=now)
    errand = Errand(
        property=land,
        kind=kind,
        thing_id=thing.id,
        scrape=thing if isinstance(thing, Scrape) else None,
        camera=thing if isinstance(thing, CameraUnit) else None,
        stand=thing if isinstance(thing, Stand) else None,
        incident=thing if isinstance(thing, Incident) else None,
        reason=reason[:LONGEST_REASON],
        facts=dict(facts or {}),
        due_on=due_on,
        recurs=recurs,
        **_columns(advice),
    )
    return writing.create(
        errand, actor=actor, action=Action.ERRAND_WRITE, now=now, property_id=land.id
    )


def errand_objection(kind: ErrandKind, land: Property, *, now: datetime) -> UseObjection | None:
    """Why nobody is sent for this today: of errands only a refresh puts anything on the land."""
    if kind != ErrandKind.REFRESH_SCENT:
        return None
    return refresh_objection(land, on=local_date_on(land, now))


def _given_a_cause(
    standing: Errand, given: Mapping[str, Any], *, actor: Actor, now: datetime
) -> Errand:
    return writing.change(
        standing,
        {**given, "due_on": min(given["due_on"], standing.due_on), "recurs": False},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=standing.property_id,
    )


def _columns(advice: Advice) -> dict[str, Any]:
    return {"advice": advice.text, "go_from": advice.go_from, "go_until": advice.go_until}

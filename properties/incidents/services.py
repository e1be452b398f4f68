"""Report trouble, follow it up, close it, and release to the landowner what was done."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from coop.printing.privacy import forbidden_in
from properties.incidents.models import FollowUp, Incident, IncidentState
from properties.land.models import Property

INCIDENT_REPORTED = "incident.reported"
ERRAND_ASKED = "incident.errand_asked"


@transaction.atomic
def report_incident(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> Incident:
    """Keep what somebody reports; the managers are told that there is something to read.

    Raises ``PermissionDenied`` and ``ValidationError`` by field.
    """
    actor.require(Action.INCIDENT_REPORT, land.id)
    incident = Incident(property=land, reported_by_id=actor.person_id, **fields)
    if incident.happened_at > now:
        raise ValidationError({"happened_at": "Lies in the future."})
    _check_place(incident)
    writing.create(
        incident, actor=actor, action=Action.INCIDENT_REPORT, now=now, property_id=land.id
    )
    _publish(INCIDENT_REPORTED, incident, now)
    return incident


@transaction.atomic
def correct_incident(
    *, actor: Actor, incident: Incident, changes: Mapping[str, Any], now: datetime
) -> Incident:
    """Correct kind, time, place or words; the record keeps what stood there before."""
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    for name, value in changes.items():
        setattr(incident, name, value)
    if incident.happened_at > now:
        raise ValidationError({"happened_at": "Lies in the future."})
    _check_place(incident)
    incident.refresh_from_db()
    return _change(actor, incident, changes, now)


@transaction.atomic
def follow_up(*, actor: Actor, incident: Incident, words: str, now: datetime) -> Incident:
    """Add what was found out or done. Raises :class:`Problem` for one that is closed."""
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    locked = _locked(incident)
    if locked.state == IncidentState.CLOSED:
        raise WrongOrder("The incident is closed already.")
    _add_entry(actor, locked, words, now)
    return _change(actor, locked, {"state": IncidentState.FOLLOWED_UP}, now)


@transaction.atomic
def note_once(
    *, actor: Actor, incident: Incident, words: str, once_key: str, now: datetime
) -> None:
    """What a fact has to say about an incident, whatever its state; told again it adds nothing."""
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    locked = _locked(incident)
    if FollowUp.objects.filter(once_key=once_key).exists():
        return
    _add_entry(actor, locked, words, now, once_key=once_key)
    if locked.state == IncidentState.OPEN:
        _change(actor, locked, {"state": IncidentState.FOLLOWED_UP}, now)


@transaction.atomic
def close_incident(*, actor: Actor, incident: Incident, words: str, now: datetime) -> Incident:
    """Close it with a last entry. Raises :class:`Problem` for one that is closed."""
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    locked = _locked(incident)
    if locked.state == IncidentState.CLOSED:
        raise WrongOrder("The incident is closed already.")
    _add_entry(actor, locked, words, now)
    return _change(actor, locked, {"state": IncidentState.CLOSED, "closed_at": now}, now)


@transaction.atomic
def release_incident(*, actor: Actor, incident: Incident, done: str, now: datetime) -> Incident:
    """Let the landowner read kind, date and this sentence about what was done.

    Raises ``ValidationError`` for a sentence that holds a way to reach somebody or a place on
    the map. Released again, the new sentence takes the place of the old one.
    """
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    found = list(forbidden_in(done))
    if found:
        raise ValidationError({"done": f"A landowner must not read {' or '.join(found)} here."})
    locked = _locked(incident)
    told_at = locked.told_at or now
    return _change(actor, locked, {"told_done": done, "told_at": told_at}, now)


@transaction.atomic
def take_back(*, actor: Actor, incident: Incident, now: datetime) -> Incident:
    """What was released in error is told no more; reports already written keep it."""
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    locked = _locked(incident)
    if locked.told_at is None:
        return locked
    return _change(actor, locked, {"told_done": "", "told_at": None}, now)


@transaction.atomic
def ask_for_errand(*, actor: Actor, incident: Incident, words: str, now: datetime) -> Incident:
    """Have somebody sent to see to it. The words are read by whoever may do errands: they say
    what is to be mended, not what was reported."""
    actor.require(Action.INCIDENT_WRITE, incident.property_id)
    locked = _locked(incident)
    if locked.state == IncidentState.CLOSED:
        raise WrongOrder("The incident is closed already.")
    _change(actor, locked, {"errand_words": words}, now)
    _publish(ERRAND_ASKED, locked, now)
    return locked


def _check_place(incident: Incident) -> None:
    problems: dict[str, str] = {}
    if (incident.longitude is None) != (incident.latitude is None):
        problems["latitude"] = "A point has a longitude and a latitude."
    elif incident.longitude is None and not incident.place_words.strip():
        problems["place_words"] = "Say where, by a point or in words."
    if incident.stand is not None and incident.stand.property_id != incident.property_id:
        problems["stand"] = "The stand is not on this property."
    if problems:
        raise ValidationError(problems)


def _locked(incident: Incident) -> Incident:
    return Incident.objects.select_for_update(of=("self",)).get(id=incident.id)


def _add_entry(
    actor: Actor, incident: Incident, words: str, now: datetime, *, once_key: str | None = None
) -> None:
    entry = FollowUp(
        incident=incident, at=now, entered_by=actor.name, words=words, once_key=once_key
    )
    writing.create(
        entry,
        actor=actor,
        action=Action.INCIDENT_WRITE,
        now=now,
        property_id=incident.property_id,
    )


def _change(
    actor: Actor, incident: Incident, changes: Mapping[str, Any], now: datetime
) -> Incident:
    return writing.change(
        incident,
        changes,
        actor=actor,
        action=Action.INCIDENT_WRITE,
        now=now,
        property_id=incident.property_id,
    )


def _publish(topic: str, incident: Incident, now: datetime) -> None:
    ids = {"incident": incident.id, "property": incident.property_id}
    outbox.publish(topic=topic, ids=ids, now=now)

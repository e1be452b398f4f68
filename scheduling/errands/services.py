"""Open, plan, remind of and close errands; nobody is sent twice for one thing."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from coop.api.problems import Problem
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.people.models import Person
from properties.people.queries import holders_of, members_of
from properties.stands.models import Stand
from properties.wind.queries import latest_issue
from properties.wind.sectors import SECTOR_NAMES, sector_of
from properties.wind.visit_hours import VisitHour, visit_hours
from scheduling.errands import hours as errand_hours
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.queries import errands_to_remind, occupied_times
from scheduling.errands.settings import ErrandSettings
from scrapes.cameras.models import CameraUnit
from scrapes.care.services import apply_scent
from scrapes.sites.models import Scrape

ERRAND_DONE = "errand.done"
LOOK_AHEAD_DAYS = 4

Thing = Scrape | CameraUnit | Stand


@dataclass(frozen=True, kw_only=True)
class Reminded:
    """How many reminders were written, and for how many errands nobody could be told."""

    written: int
    nobody_to_tell: int


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
) -> Errand:
    """Open an errand about a scrape, camera or stand, or return the one that stands open.

    ``place`` is longitude and latitude of where to go, for the least harmful hour; without
    it the thing's own place is taken.
    """
    land = Property.objects.select_related("cooperative").get(id=thing.property_id)
    actor.require(Action.ERRAND_WRITE, land.id)
    standing = Errand.objects.filter(kind=kind, thing_id=thing.id, state=ErrandState.OPEN).first()
    if standing is not None:
        return standing
    settings = layered_settings.resolve(ErrandSettings, *setting_layers(land))
    today = now.astimezone(ZoneInfo(land.time_zone)).date()
    errand = Errand(
        property=land,
        kind=kind,
        thing_id=thing.id,
        scrape=thing if isinstance(thing, Scrape) else None,
        camera=thing if isinstance(thing, CameraUnit) else None,
        stand=thing if isinstance(thing, Stand) else None,
        reason=reason[:500],
        facts=dict(facts or {}),
        due_on=today + timedelta(days=settings.due_after_days),
    )
    _advise(errand, land, place or _place_of(thing), settings, now)
    return writing.create(
        errand, actor=actor, action=Action.ERRAND_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def assign_errand(*, actor: Actor, errand: Errand, assignee: Person, now: datetime) -> Errand:
    """Give an errand to somebody who belongs to the property."""
    actor.require(Action.ERRAND_WRITE, errand.property_id)
    locked = _locked_open(errand)
    if not members_of(property_id=errand.property_id).filter(id=assignee.id).exists():
        raise ValidationError({"assignee": "Must be a member or manager of the property."})
    return writing.change(
        locked,
        {"assignee": assignee},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=errand.property_id,
    )


@transaction.atomic
def finish_errand(
    *, actor: Actor, errand: Errand, note: str, now: datetime, scent: str = ""
) -> Errand:
    """Record that it was done, and what was done; reminders stop.

    Whoever manages errands may finish any; others those given to them or to nobody. A refresh
    names the scent and is recorded on the scrape with it: both or neither. Raises
    ``ValidationError`` where a scent is missing or does not belong, and
    :class:`coop.api.problems.Refused` for one that the property's settings do not permit.
    """
    actor.require(Action.ERRAND_DO, errand.property_id)
    locked = _locked_open(errand)
    mine = locked.assignee_id in (None, actor.person_id)
    if not mine and not actor.may(Action.ERRAND_WRITE, errand.property_id):
        raise PermissionDenied("this errand was given to somebody else")
    _record_scent(locked, scent.strip(), actor=actor, note=note, now=now)
    writing.change(
        locked,
        {
            "state": ErrandState.DONE,
            "done_at": now,
            "done_by_id": actor.person_id,
            "done_note": note,
        },
        actor=actor,
        action=Action.ERRAND_DO,
        now=now,
        property_id=errand.property_id,
    )
    outbox.publish(topic=ERRAND_DONE, ids={"errand": locked.id}, now=now)
    return locked


def _record_scent(errand: Errand, scent: str, *, actor: Actor, note: str, now: datetime) -> None:
    if errand.kind != ErrandKind.REFRESH_SCENT or errand.scrape is None:
        if scent:
            raise ValidationError({"scent": "Only a refresh of scent names one."})
        return
    if not scent:
        raise ValidationError({"scent": "Name the scent that was put on the scrape."})
    apply_scent(actor=actor, scrape=errand.scrape, scent=scent, notes=note[:300], now=now)


@transaction.atomic
def cancel_errand(*, actor: Actor, errand: Errand, reason: str, now: datetime) -> Errand:
    """Withdraw an errand that need not be done."""
    actor.require(Action.ERRAND_WRITE, errand.property_id)
    locked = _locked_open(errand)
    return writing.change(
        locked,
        {"state": ErrandState.CANCELLED, "done_note": reason},
        actor=actor,
        action=Action.ERRAND_WRITE,
        now=now,
        property_id=errand.property_id,
        reason=reason,
    )


def remind(*, now: datetime) -> Reminded:
    """Write the reminders that are due; each is one transaction and is written once."""
    written = nobody = 0
    for errand in errands_to_remind(now=now):
        settings = layered_settings.resolve(ErrandSettings, *setting_layers(errand.property))
        if not _is_due(errand, settings, now):
            continue
        people = _people_to_tell(errand)
        if not people:
            nobody += 1
            continue
        _write_reminder(errand.id, people, now)
        written += 1
    return Reminded(written=written, nobody_to_tell=nobody)


@transaction.atomic
def _write_reminder(errand_id: UUID, people: list[Person], now: datetime) -> None:
    errand = (
        Errand.objects.select_for_update(of=("self",)).select_related("property").get(id=errand_id)
    )
    if errand.state != ErrandState.OPEN:
        return
    number = errand.reminders_sent + 1
    what = errand.get_kind_display().lower()
    for person in people:
        outbox.write_message(
            once_key=f"errand:{errand.id}:{number}:{person.id}",
            recipient=person.email,
            subject=f"{errand.property.name}: {what} by {errand.due_on}",
            text=_reminder_text(errand),
            cooperative_id=errand.property.cooperative_id,
            now=now,
        )
    errand.reminders_sent = number
    errand.reminded_at = now
    errand.save(update_fields=["reminders_sent", "reminded_at"])


def _reminder_text(errand: Errand) -> str:
    lines = [
        errand.reason,
        f"To be done by {errand.due_on}.",
        errand.advice,
        "Every walk to a scrape is pressure too: go once, do all that is on the way, leave.",
        "Tell somebody where you go and when you will be back.",
    ]
    return "\n\n".join(line for line in lines if line)


def _is_due(errand: Errand, settings: ErrandSettings, now: datetime) -> bool:
    if errand.reminders_sent >= settings.most_reminders:
        return False
    if errand.reminded_at is None:
        return True
    return now - errand.reminded_at >= timedelta(days=settings.remind_every_days)


def _people_to_tell(errand: Errand) -> list[Person]:
    if errand.assignee is not None:
        return [errand.assignee] if errand.assignee.email else []
    for role in (Role.MANAGER, Role.COORDINATOR):
        found = holders_of(role=role, property_id=errand.property_id).exclude(email="")
        if found:
            return list(found.order_by("name"))
    return []


def _advise(
    errand: Errand,
    land: Property,
    place: tuple[float, float] | None,
    settings: ErrandSettings,
    now: datetime,
) -> None:
    best = _best_hour(land, place, settings, now) if place else None
    if best is None:
        errand.advice = "No forecast reaches the coming days: choose an hour on a quiet wind."
        return
    zone = ZoneInfo(land.time_zone)
    errand.go_from = best.starts_at
    errand.go_until = best.starts_at + timedelta(hours=1)
    errand.advice = (
        f"Least harm: {best.starts_at.astimezone(zone):%A %d %B, %H:%M} local, "
        f"{_wind_words(best)}, with a chance of {100 * best.fit:.0f} % that no deer smells you; "
        "no sit is booked on the property then."
    )


def _best_hour(
    land: Property, place: tuple[float, float], settings: ErrandSettings, now: datetime
) -> VisitHour | None:
    issue = latest_issue(land, known_at=now)
    if issue is None:
        return None
    zone = ZoneInfo(land.time_zone)
    candidates = errand_hours.candidate_hours(
        now=now, days=LOOK_AHEAD_DAYS, zone=zone, settings=settings
    )
    occupied = occupied_times(
        property_id=land.id, starts_at=now, ends_at=now + timedelta(days=LOOK_AHEAD_DAYS + 1)
    )
    free = errand_hours.clear_of(candidates, occupied)
    if not free:
        return None
    judged = visit_hours(land, longitude=place[0], latitude=place[1], hours=free, issue=issue)
    return errand_hours.least_harmful(judged)


def _wind_words(hour: VisitHour) -> str:
    if hour.wind_from_deg is None:
        return "light or variable wind"
    return f"wind from {SECTOR_NAMES[int(sector_of(hour.wind_from_deg))]}"


def _place_of(thing: Thing) -> tuple[float, float] | None:
    if isinstance(thing, CameraUnit):
        hanging = thing.deployments.filter(ends_at=None).first()
        return (hanging.longitude, hanging.latitude) if hanging else None
    return thing.longitude, thing.latitude


def _locked_open(errand: Errand) -> Errand:
    locked = Errand.objects.select_for_update().get(id=errand.id)
    if locked.state != ErrandState.OPEN:
        raise Problem(f"The errand is {locked.state} already.", code="wrong_order")
    return locked

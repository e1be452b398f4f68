"""Remind of open errands until they are done, and of none that is done already."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from coop.access.actors import system_actor
from coop.access.roles import Role
from coop.outbox import services as outbox
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.people.models import Person
from properties.people.queries import holders_of
from properties.sessions.local_time import local_date_of, local_day
from scheduling.errands.advice_services import advise_again
from scheduling.errands.models import Errand, ErrandState
from scheduling.errands.queries import conditions_told, errands_to_remind
from scheduling.errands.recurring_services import settle
from scheduling.errands.settings import ErrandSettings
from scheduling.sits.condition_notices import LOOK_YOURSELF


@dataclass(frozen=True, kw_only=True)
class Reminded:
    """How many reminders were written, and for how many errands nobody could be told."""

    written: int
    nobody_to_tell: int


def remind(*, now: datetime) -> Reminded:
    """Write the reminders that are due; each is one transaction and is written once.

    Errands whose work was recorded elsewhere meanwhile are closed first, and advice that tells
    wrongly of closed ground is given anew.
    """
    _settle_all(now)
    written = nobody = 0
    for errand in errands_to_remind():
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


def _settle_all(now: datetime) -> None:
    standing = Errand.objects.filter(state=ErrandState.OPEN).values("property_id")
    lands = Property.objects.filter(id__in=standing).select_related("cooperative")
    for land in lands.order_by("id"):
        settle(actor=system_actor("errands.remind"), land=land, now=now)
        advise_again(actor=system_actor("errands.remind"), land=land, now=now)


@transaction.atomic
def _write_reminder(errand_id: UUID, people: list[Person], now: datetime) -> None:
    errand = (
        Errand.objects.select_for_update(of=("self",)).select_related("property").get(id=errand_id)
    )
    if errand.state != ErrandState.OPEN:
        return
    number = errand.reminders_sent + 1
    what = errand.get_kind_display().lower()
    text = _reminder_text(errand, now)
    for person in people:
        outbox.write_message(
            once_key=f"errand:{errand.id}:{number}:{person.id}",
            recipient=person.email,
            subject=f"{errand.property.name}: {what} by {errand.due_on}",
            text=text,
            cooperative_id=errand.property.cooperative_id,
            now=now,
        )
    errand.reminders_sent = number
    errand.reminded_at = now
    errand.save(update_fields=["reminders_sent", "reminded_at"])


def _reminder_text(errand: Errand, now: datetime) -> str:
    zone = ZoneInfo(errand.property.time_zone)
    last_on = max(errand.due_on, local_date_of(now, zone))
    told = conditions_told(errand.property, starts_at=now, ends_at=local_day(last_on, zone)[1])
    lines = [
        errand.reason,
        f"To be done by {errand.due_on}.",
        errand.advice,
        *(f"Told there: {condition}." for condition in told),
        LOOK_YOURSELF if told else "",
        "Every walk to a scrape is pressure too: go once, do all that is on the way, leave.",
        "Tell somebody where you go and when you will be back.",
    ]
    return "\n\n".join(line for line in lines if line)


def _is_due(errand: Errand, settings: ErrandSettings, now: datetime) -> bool:
    if errand.reminders_sent >= settings.most_reminders:
        return False
    if errand.reminded_at is None:
        return True
    # By the day, as the job runs: one that began a minute earlier than last time is no day short.
    return (now.date() - errand.reminded_at.date()).days >= settings.remind_every_days


def _people_to_tell(errand: Errand) -> list[Person]:
    if errand.assignee is not None:
        return [errand.assignee] if errand.assignee.email else []
    for role in (Role.MANAGER, Role.COORDINATOR):
        found = holders_of(role=role, property_id=errand.property_id).exclude(email="")
        if found:
            return list(found.order_by("name"))
    return []

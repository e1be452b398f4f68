"""What opens errands by itself, and the daily reminder."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from coop.access.actors import system_actor
from coop.jobs import registry
from coop.outbox import services as outbox
from properties.incidents.models import Incident
from properties.incidents.services import ERRAND_ASKED, note_once
from properties.land.models import Property
from properties.land.property_jobs import due_for, property_of
from properties.land.services import PROPERTY_CLOSED, PROPERTY_OPENED
from scheduling.errands.advice_services import advise_again
from scheduling.errands.life_services import ERRAND_DONE, close_done_elsewhere
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.opening_services import errand_objection, open_errand
from scheduling.errands.recurring_services import open_recurring
from scheduling.errands.reminder_services import remind
from scrapes.cameras.models import CameraUnit
from scrapes.care.models import ReviewVerdict, ScentApplication, ScrapeReview, Substance
from scrapes.care.services import CARE_NEEDED, SCENT_APPLIED

REMIND = "errands.remind"
COME_ROUND = "errands.come_round"
# No cameras and no named deer: errands are read by whoever may do them.
TOLD_FIGURES = (
    "first_on",
    "last_on",
    "visits",
    "expected",
    "expected_low",
    "expected_high",
    "ratio",
    "chance",
    "camera_nights",
    "scent",
    "days_with_people",
    "days_with_people_over",
)


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(COME_ROUND, come_round)
    registry.register_schedule(COME_ROUND, rounds_due)
    registry.register_job(REMIND, send_reminders)
    registry.register_schedule(REMIND, reminders_due)
    outbox.on_fact(CARE_NEEDED, open_for_review)
    outbox.on_fact(SCENT_APPLIED, close_refresh)
    outbox.on_fact(ERRAND_ASKED, open_for_incident)
    outbox.on_fact(ERRAND_DONE, tell_incident)
    for topic in (PROPERTY_CLOSED, PROPERTY_OPENED):
        outbox.on_fact(topic, follow_closed_ground)


def open_for_review(ids: Mapping[str, str], now: datetime) -> None:
    """A review that asks for care: of a camera by its id, else for scent on the scrape.

    One of two cameras may have died while the other one tells that visits fell: then both are
    asked for, each with its own reason.
    """
    review = ScrapeReview.objects.select_related("scrape__property").get(id=ids["review"])
    scrape = review.scrape
    common: dict[str, Any] = {
        "actor": system_actor("scrapes.review"),
        "now": now,
        "place": (scrape.longitude, scrape.latitude),
    }
    if "camera" in ids:
        camera = CameraUnit.objects.get(id=ids["camera"])
        found = review.figures["cameras_at_fault"].get(str(camera.id), review.sentence)
        open_errand(
            kind=ErrandKind.CHECK_CAMERA,
            thing=camera,
            reason=f"{scrape.name}: {camera.name}: {found}",
            facts={"review": str(review.id)},
            **common,
        )
    elif review.verdict == ReviewVerdict.REFRESH:
        if errand_objection(ErrandKind.REFRESH_SCENT, scrape.property, now=now) is not None:
            return  # The review tells of it; nobody is sent for what is forbidden.
        figures = {name: review.figures.get(name) for name in TOLD_FIGURES}
        open_errand(
            kind=ErrandKind.REFRESH_SCENT,
            thing=scrape,
            reason=f"{scrape.name}: {review.sentence}",
            facts={"review": str(review.id), **figures},
            **common,
        )


def close_refresh(ids: Mapping[str, str], now: datetime) -> None:
    """Scent recorded without the errand that asked for it: nobody need go a second time."""
    application = ScentApplication.objects.get(id=ids["application"])
    if application.substance != Substance.SCENT:
        return
    standing = Errand.objects.filter(
        kind=ErrandKind.REFRESH_SCENT,
        thing_id=application.scrape_id,
        state=ErrandState.OPEN,
        created_at__lte=application.created_at,
    ).first()
    if standing is not None:
        close_done_elsewhere(
            actor=system_actor(SCENT_APPLIED),
            errand=standing,
            note=f"{application.scent} was recorded on the scrape.",
            now=now,
        )


def open_for_incident(ids: Mapping[str, str], now: datetime) -> None:
    """What a manager asks to be mended, in the manager's words: those of the report stay there."""
    incident = Incident.objects.select_related("stand").get(id=ids["incident"])
    open_errand(
        actor=system_actor(ERRAND_ASKED),
        kind=ErrandKind.MEND,
        thing=incident,
        reason=incident.errand_words,
        now=now,
    )


def tell_incident(ids: Mapping[str, str], now: datetime) -> None:
    """An errand that an incident asked for was done: the incident's log says so, once."""
    errand = Errand.objects.select_related("incident", "done_by").get(id=ids["errand"])
    if errand.incident is None:
        return
    who = f" by {errand.done_by.name}" if errand.done_by else ""
    note_once(
        actor=system_actor(ERRAND_DONE),
        incident=errand.incident,
        words=f"Mended{who}. {errand.done_note}".strip(),
        once_key=f"errand:{errand.id}",
        now=now,
    )


def follow_closed_ground(ids: Mapping[str, str], now: datetime) -> None:
    """Ground was closed or opened: what errands there advise follows it."""
    land = Property.objects.select_related("cooperative").get(id=ids["property"])
    advise_again(actor=system_actor("errands.closed_ground"), land=land, now=now)


def come_round(job: registry.JobContext) -> dict[str, Any]:
    """Errands of one property (parameter ``property``: its id) that the calendar asks for."""
    land = property_of(job)
    return asdict(open_recurring(actor=system_actor(COME_ROUND), land=land, now=job.now))


def rounds_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a day for each property, an hour before the reminders."""
    if now.hour < 11:
        return
    for property_id in Property.objects.filter(retired_at=None).values_list("id", flat=True):
        yield due_for(property_id, name=COME_ROUND, period=f"{now:%Y-%m-%d}")


def send_reminders(job: registry.JobContext) -> dict[str, Any]:
    """Reminders of open errands."""
    done = remind(now=job.now)
    return {"written": done.written, "nobody_to_tell": done.nobody_to_tell}


def reminders_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a day, from 12:00 UTC on: morning all over the Americas' leases."""
    if now.hour >= 12:
        yield registry.DueJob(name=REMIND, scope="all", period=f"{now:%Y-%m-%d}")

"""What opens errands by itself, and the daily reminder."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from coop.access.actors import system_actor
from coop.jobs import registry
from coop.outbox import services as outbox
from scheduling.errands import services
from scheduling.errands.models import ErrandKind
from scrapes.cameras.models import CameraUnit
from scrapes.care.models import ReviewVerdict, ScrapeReview
from scrapes.care.services import CARE_NEEDED

REMIND = "errands.remind"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(REMIND, remind)
    registry.register_schedule(REMIND, reminders_due)
    outbox.on_fact(CARE_NEEDED, open_for_review)


def open_for_review(ids: Mapping[str, str], now: datetime) -> None:
    """A review that asks for care: the camera is looked at first, scent only if it works."""
    review = ScrapeReview.objects.select_related("scrape").get(id=ids["review"])
    scrape = review.scrape
    place = (scrape.longitude, scrape.latitude)
    common = {
        "actor": system_actor("scrapes.review"),
        "reason": f"{scrape.name}: {review.sentence}",
        "facts": review.figures,
        "now": now,
        "place": place,
    }
    if review.verdict == ReviewVerdict.CHECK_CAMERA and "camera" in ids:
        camera = CameraUnit.objects.get(id=ids["camera"])
        services.open_errand(kind=ErrandKind.CHECK_CAMERA, thing=camera, **common)
    elif review.verdict == ReviewVerdict.REFRESH:
        services.open_errand(kind=ErrandKind.REFRESH_SCENT, thing=scrape, **common)


def remind(job: registry.JobContext) -> dict[str, Any]:
    """Reminders of open errands."""
    done = services.remind(now=job.now)
    return {"written": done.written, "nobody_to_tell": done.nobody_to_tell}


def reminders_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once a day, from 12:00 UTC on: morning all over the Americas' leases."""
    if now.hour >= 12:
        yield registry.DueJob(name=REMIND, scope="all", period=f"{now:%Y-%m-%d}")

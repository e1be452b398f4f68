"""Judge the scrapes of a property as of an instant; nothing is written here."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from scrapes.cameras.health import CameraHealth
from scrapes.care.bucks import bucks_taken
from scrapes.care.history import CareHistory, care_history, days_with_people, residue_of
from scrapes.care.models import ReviewVerdict, ScentApplication
from scrapes.care.questions import AskedOf, drop_questions
from scrapes.care.residue import Residue
from scrapes.care.settings import CareSettings
from scrapes.care.verdicts import plain, sentence_of, verdict_of
from scrapes.sites.models import Scrape
from scrapes.visits.drop import judge_drop
from scrapes.visits.drop_question import DropVerdict, Finding
from scrapes.visits.hangings import Hanging
from scrapes.visits.queries import cooperative_records
from scrapes.visits.scrape_records import (
    SettingsInForce,
    as_the_living_saw_it,
    settings_in_force,
)

Report = Callable[[int, str], None]


@dataclass(frozen=True, kw_only=True)
class Reviewed:
    """What was found at one scrape; ``cameras_at_fault`` hang there now."""

    scrape: Scrape
    verdict: ReviewVerdict
    sentence: str
    figures: Mapping[str, Any]
    cameras_at_fault: tuple[UUID, ...]


def care_settings(land: Property) -> CareSettings:
    return layered_settings.resolve(CareSettings, *setting_layers(land))


def judge_scrapes(
    land: Property, *, now: datetime, report: Report | None = None
) -> tuple[Reviewed, ...]:
    """Every scrape of the property that is not retired; queries do not grow with their number."""
    tell = report or (lambda _pct, _note: None)
    settings, care = settings_in_force(land, now=now), care_settings(land)
    today = local_date_on(land, now)
    first_on = today - timedelta(days=settings.visits.record_days)
    tell(5, f"{land.name}: reading what the cameras recorded")
    records = cooperative_records(
        land, first_on=first_on, last_on=today, now=now, settings=settings
    )
    since = now - timedelta(days=settings.visits.record_days)
    bucks = bucks_taken(land, since=since, until=now)
    history = care_history(land, since=since, now=now)
    records = tuple(as_the_living_saw_it(one, now=now, settings=settings) for one in records)
    chosen = [
        record
        for record in records
        if record.scrape.property_id == land.id and record.scrape.retired_at is None
    ]
    tell(50, f"{land.name}: judging {len(chosen)} scrapes")
    asked = drop_questions(records, chosen=chosen, bucks=bucks, settings=settings)
    return tuple(_reviewed(one, history, now=now, settings=settings, care=care) for one in asked)


def _reviewed(
    asked: AskedOf,
    history: CareHistory,
    *,
    now: datetime,
    settings: SettingsInForce,
    care: CareSettings,
) -> Reviewed:
    found = judge_drop(asked.question, settings=settings.drop)
    scrape = asked.record.scrape
    faulty = _at_fault(asked, found, now)
    application = history.latest(scrape.id)
    left = (
        None
        if application is None
        else residue_of(application, history.rain, now=now, settings=care)
    )
    verdict = verdict_of(found, camera_at_fault=bool(faulty))
    reasons = [f"{one.hanging.health.camera}: {one.sentence}" for one in faulty]
    if verdict is ReviewVerdict.CHECK_CAMERA and not faulty:
        # The camera that failed was taken down meanwhile: there is none to look at.
        verdict = ReviewVerdict.UNKNOWN
    if verdict is ReviewVerdict.REFRESH and left and left.days < care.refresh_rest_days:
        verdict = ReviewVerdict.WAIT
    return Reviewed(
        scrape=scrape,
        verdict=verdict,
        sentence=sentence_of(
            found, verdict, at_fault=reasons, residue=_residue_sentence(left, history)
        ),
        figures={
            **_figures(asked, found, application, left, history, now=now, care=care),
            "cameras_at_fault": {str(one.hanging.camera_id): one.sentence for one in faulty},
        },
        cameras_at_fault=tuple(one.hanging.camera_id for one in faulty),
    )


@dataclass(frozen=True, kw_only=True)
class _AtFault:
    """A camera to be looked at, and why."""

    hanging: Hanging
    sentence: str


def _at_fault(asked: AskedOf, found: DropVerdict, now: datetime) -> list[_AtFault]:
    """Cameras hanging there whose condition hides visits; or, where all that triggers them fell,
    those that look as if they worked."""
    now_s = int(now.timestamp())
    present = [one for one in asked.record.hangings if one.overlaps(now_s - 1, now_s)]
    failed = [
        _AtFault(
            hanging=one,
            sentence=" ".join(each.sentence for each in one.health.findings if each.hides_visits),
        )
        for one in present
        if one.health.hides_visits
    ]
    if failed or found.finding is not Finding.CAMERA:
        return failed
    told = next(one for one in found.answers if one.code is Finding.CAMERA and one.holds)
    return [_AtFault(hanging=one, sentence=told.sentence) for one in present]


def _residue_sentence(left: Residue | None, history: CareHistory) -> str | None:
    if left is None:
        return None
    if not history.rain.is_known:
        return f"Scent applied {left.days:.0f} days ago; no rain gauge is known here."
    return left.sentence


def _figures(
    asked: AskedOf,
    found: DropVerdict,
    application: ScentApplication | None,
    left: Residue | None,
    history: CareHistory,
    *,
    now: datetime,
    care: CareSettings,
) -> dict[str, Any]:
    record = asked.record
    figures = {
        name: value
        for name, value in plain(found).items()
        if name not in ("scrape", "answers", "sentences")
    }
    scent = (
        None
        if application is None or left is None
        else {
            "applied_at": application.applied_at.isoformat(),
            "scent": application.scent,
            "rain_known": history.rain.is_known,
            **plain(left),
        }
    )
    return {
        **figures,
        "first_on": _iso(record.days.date_of(asked.first)),
        "last_on": _iso(record.days.last_on),
        "answers": plain(found.answers),
        "sentences": plain(found.sentences),
        "cameras": [_camera(health) for health in asked.question.cameras],
        "scent": scent,
        "days_with_people": days_with_people(record, history, now=now, settings=care),
        "days_with_people_over": care.people_days,
    }


def _camera(health: CameraHealth) -> dict[str, Any]:
    return {
        "camera": health.camera,
        "state": health.state.value,
        "findings": [finding.sentence for finding in health.findings],
    }


def _iso(on: date) -> str:
    return on.isoformat()

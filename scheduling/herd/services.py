"""Open a camera survey, count its pictures, say how many bucks were told apart."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land.models import Property
from properties.people.models import Person
from scheduling.herd.models import CameraSurvey, CountedFrom
from scheduling.herd.population import SurveyCounts
from scheduling.herd.queries import pictures_of, visit_settings_of
from scrapes.cameras.models import CameraUnit
from scrapes.visits.pictures import DeerClass

PICTURES = ("buck_pictures", "doe_pictures", "fawn_pictures", "unknown_pictures")


@transaction.atomic
def create_survey(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> CameraSurvey:
    """Open a survey of a property; its whole area when none is told."""
    actor.require(Action.HERD_WRITE, land.id)
    columns = dict(fields)
    cameras: Iterable[CameraUnit] = columns.pop("cameras", ())
    columns.setdefault("area_m2", land.area_m2)
    survey = CameraSurvey(property=land, **_judged(actor, columns, now))
    _check(survey, cameras)
    writing.create(survey, actor=actor, action=Action.HERD_WRITE, now=now, property_id=land.id)
    survey.cameras.set(cameras)
    return survey


@transaction.atomic
def change_survey(
    *, actor: Actor, survey: CameraSurvey, changes: Mapping[str, Any], now: datetime
) -> CameraSurvey:
    """Change a survey, enter its pictures, or say how many bucks were told apart."""
    actor.require(Action.HERD_WRITE, survey.property_id)
    columns = dict(changes)
    cameras = columns.pop("cameras", None)
    columns = _judged(actor, columns, now)
    for name, value in columns.items():
        setattr(survey, name, value)
    _check(survey, survey.cameras.all() if cameras is None else cameras)
    survey.refresh_from_db()
    writing.change(
        survey,
        columns,
        actor=actor,
        action=Action.HERD_WRITE,
        now=now,
        property_id=survey.property_id,
    )
    if cameras is not None:
        survey.cameras.set(cameras)
    return survey


@transaction.atomic
def count_pictures(*, actor: Actor, survey: CameraSurvey, now: datetime) -> CameraSurvey:
    """Count the deer in the pictures of the survey's cameras, in place of what stood there."""
    actor.require(Action.HERD_WRITE, survey.property_id)
    survey = _locked(survey)
    if not survey.cameras.exists():
        raise ValidationError({"cameras": "Name the cameras of the survey first."})
    found = pictures_of(survey)
    counts = {
        "buck_pictures": found.of(DeerClass.BUCK),
        "doe_pictures": found.of(DeerClass.DOE),
        "fawn_pictures": found.of(DeerClass.FAWN),
        "unknown_pictures": found.of(DeerClass.UNKNOWN),
    }
    if survey.unique_bucks is not None and survey.unique_bucks > counts["buck_pictures"]:
        raise ValidationError(
            {"unique_bucks": "More bucks are told apart than there are pictures of bucks."}
        )
    return writing.change(
        survey,
        {**counts, "counted_from": CountedFrom.PICTURES, "counted_at": now},
        actor=actor,
        action=Action.HERD_WRITE,
        now=now,
        property_id=survey.property_id,
    )


@transaction.atomic
def retire_survey(*, actor: Actor, survey: CameraSurvey, now: datetime) -> CameraSurvey:
    """Take a survey out of use; twice changes nothing."""
    actor.require(Action.HERD_WRITE, survey.property_id)
    survey = _locked(survey)
    if survey.retired_at is not None:
        return survey
    return writing.change(
        survey,
        {"retired_at": now},
        actor=actor,
        action=Action.HERD_WRITE,
        now=now,
        property_id=survey.property_id,
    )


def counts_of(survey: CameraSurvey) -> SurveyCounts | None:
    """What the estimate needs; None while pictures or bucks are not known."""
    if survey.unique_bucks is None or survey.buck_pictures is None:
        return None
    return SurveyCounts(
        unique_bucks=survey.unique_bucks,
        buck_pictures=survey.buck_pictures,
        doe_pictures=survey.doe_pictures or 0,
        fawn_pictures=survey.fawn_pictures or 0,
        unknown_pictures=survey.unknown_pictures or 0,
        area_m2=survey.area_m2,
    )


def _judged(actor: Actor, columns: dict[str, Any], now: datetime) -> dict[str, Any]:
    """The columns with who judged and when, where they carry a judgement."""
    if "unique_bucks" in columns:
        is_told = columns["unique_bucks"] is not None
        person = Person.objects.filter(id=actor.person_id).first() if actor.person_id else None
        columns |= {
            "bucks_decided_by": person if is_told else None,
            "bucks_decided_at": now if is_told else None,
        }
    if any(name in columns for name in PICTURES):
        columns |= {"counted_from": CountedFrom.ENTERED, "counted_at": now}
    return columns


def _check(survey: CameraSurvey, cameras: Iterable[CameraUnit]) -> None:
    if any(camera.property_id != survey.property_id for camera in cameras):
        raise ValidationError({"cameras": "One of them is kept at another property."})
    if survey.first_on > survey.last_on:
        raise ValidationError({"last_on": "Lies before the first day."})
    species = visit_settings_of(survey.property).species
    if survey.species and survey.species not in species:
        raise ValidationError({"species": f"Must be one of {', '.join(species)}."})
    told = [getattr(survey, name) is not None for name in PICTURES[:3]]
    if any(told) and not all(told):
        raise ValidationError({"buck_pictures": "Enter bucks, does and fawns together."})
    pictures, bucks = survey.buck_pictures, survey.unique_bucks
    if pictures is not None and bucks is not None and bucks > pictures:
        raise ValidationError(
            {"unique_bucks": "More bucks are told apart than there are pictures of bucks."}
        )


def _locked(survey: CameraSurvey) -> CameraSurvey:
    return CameraSurvey.objects.select_for_update().get(id=survey.id)

"""Write the months: stored editions, each of them final for what was known."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from coop.outbox import services as outbox
from coop.printing.paper import to_pdf
from coop.printing.privacy import forbidden_in
from coop.reports import queries
from coop.reports.changes import changes_between
from coop.reports.editions import write_edition
from coop.reports.figures import MonthFigures, SettingsUsed, digest_of, month_figures
from coop.reports.gather import gather
from coop.reports.models import LandNote, MonthlyReport
from coop.reports.periods import period_of
from properties.land.models import Property

REPORT_WRITTEN = "report.written"


@dataclass(frozen=True, kw_only=True)
class Written:
    """The edition that holds, and whether it was written just now."""

    report: MonthlyReport
    is_new: bool


def write_month(*, actor: Actor, land: Property, month: date, now: datetime) -> Written:
    """The edition of a property's month as known at ``now``.

    The same figures give the edition that is stored; a correction gives a new one that says
    what changed. A finished month is counted again with the settings of its first edition, so
    that a new taste is no correction. Raises ``ValidationError`` for a month not yet begun.
    """
    actor.require(Action.REPORT_WRITE, land.id)
    month = month.replace(day=1)
    if period_of(month, land.time_zone).starts_at > now:
        raise ValidationError({"month": "This month has not begun on the property."})
    report, is_new = write_edition(
        latest_of=lambda: queries.latest_edition(land=land, month=month),
        count=lambda latest: figures_of(land=land, month=month, now=now, latest=latest),
        digest=lambda figures: digest_of(figures.as_dict()),
        draft=lambda figures, digest, latest: _draft(land, month, figures, digest, latest),
        store=lambda draft, latest: _store(actor=actor, draft=draft, latest=latest, now=now),
    )
    return Written(report=report, is_new=is_new)


def figures_of(
    *, land: Property, month: date, now: datetime, latest: MonthlyReport | None
) -> MonthFigures:
    """The month's figures, with the settings of the stored edition once the month is over."""
    settings = _settings(land, latest, now)
    rows = gather(land=land, month=month, now=now, settings=settings)
    return month_figures(rows, settings)


@transaction.atomic
def create_note(
    *, actor: Actor, land: Property, fields: Mapping[str, Any], now: datetime
) -> LandNote:
    """Tell the landowner of an incident, a gate, damage or work; refuses ways to reach people."""
    actor.require(Action.LAND_NOTE_WRITE, land.id)
    note = LandNote(property=land, **fields)
    _check_note(note)
    return writing.create(
        note, actor=actor, action=Action.LAND_NOTE_WRITE, now=now, property_id=land.id
    )


@transaction.atomic
def change_note(
    *, actor: Actor, note: LandNote, changes: Mapping[str, Any], now: datetime
) -> LandNote:
    """Correct a note; a finished month that told it gets a new edition when written again."""
    actor.require(Action.LAND_NOTE_WRITE, note.property_id)
    for name, value in changes.items():
        setattr(note, name, value)
    _check_note(note)
    note.refresh_from_db()
    return writing.change(
        note,
        changes,
        actor=actor,
        action=Action.LAND_NOTE_WRITE,
        now=now,
        property_id=note.property_id,
    )


@transaction.atomic
def retire_note(*, actor: Actor, note: LandNote, now: datetime) -> LandNote:
    """Take a note out of reports written from now on; stored editions keep it."""
    actor.require(Action.LAND_NOTE_WRITE, note.property_id)
    if note.retired_at is not None:
        return note
    return writing.change(
        note,
        {"retired_at": now},
        actor=actor,
        action=Action.LAND_NOTE_WRITE,
        now=now,
        property_id=note.property_id,
    )


def _settings(land: Property, latest: MonthlyReport | None, now: datetime) -> SettingsUsed:
    return queries.settings_of_final(latest) or queries.settings_in_force(land, now=now)


def _draft(
    land: Property,
    month: date,
    figures: MonthFigures,
    digest: str,
    latest: MonthlyReport | None,
) -> MonthlyReport:
    told = figures.as_dict()
    # Drawing loads slowly, and most processes never draw.
    from coop.reports.pages import write_pages

    edition = 1 if latest is None else latest.edition + 1
    changes = [] if latest is None else changes_between(latest.figures, told)
    pages = write_pages(figures, edition=edition, changes=changes)
    paper = to_pdf(pages.print_html)
    return MonthlyReport(
        property=land,
        month=month,
        edition=edition,
        figures=told,
        changes=changes,
        summary=pages.summary,
        html=pages.html,
        appendix_html=pages.appendix_html,
        pdf=paper.pdf,
        pdf_missing_reason=paper.missing_reason,
        data_cut_off_at=figures.cut_off_at,
        digest=digest,
    )


@transaction.atomic
def _store(
    *, actor: Actor, draft: MonthlyReport, latest: MonthlyReport | None, now: datetime
) -> MonthlyReport | None:
    """The stored draft, or None when somebody else wrote an edition meanwhile."""
    Property.objects.select_for_update().get(pk=draft.property_id)
    newest = queries.latest_edition(land=draft.property, month=draft.month)
    if (newest and newest.id) != (latest and latest.id):
        return None
    writing.create(
        draft,
        actor=actor,
        action=Action.REPORT_WRITE,
        now=now,
        property_id=draft.property_id,
        reason="; ".join(draft.changes)[:300],
    )
    outbox.publish(
        topic=REPORT_WRITTEN,
        ids={"property": draft.property_id, "report": draft.id},
        now=now,
    )
    return draft


def _check_note(note: LandNote) -> None:
    problems: dict[str, list[str]] = {}
    for name in ("what", "done"):
        found = list(forbidden_in(getattr(note, name)))
        if found:
            problems[name] = [f"A note to a landowner must not hold {' or '.join(found)}."]
    if note.feature is not None and note.feature.property_id != note.property_id:
        problems["feature"] = ["The feature is not mapped on this property."]
    if problems:
        raise ValidationError(problems)

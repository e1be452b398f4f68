"""From figures to HTML: the landowner's page, and the managers' appendix as a page of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from coop.reports import appendix_sentences, sentences, wording
from coop.reports.appendix_pictures import appendix_pictures
from coop.reports.figures import MonthFigures, Note
from coop.reports.pictures import page_pictures
from coop.reports.presence import PersonOnLand
from coop.reports.rendering import rendered
from coop.reports.settings_words import settings_groups


@dataclass(frozen=True, kw_only=True)
class Pages:
    """The landowner's page for screens and for paper, and the managers' appendix."""

    summary: str
    html: str
    print_html: str
    appendix_html: str


def write_pages(figures: MonthFigures, *, edition: int, changes: Sequence[str]) -> Pages:
    """All pages of one edition; the same figures give the same text, byte for byte."""
    context = _common(figures, edition, changes)
    pictures = page_pictures(figures)
    page = context | _page(figures)
    appendix = context | _appendix(figures)
    paper = "A4" if figures.units == "metric" else "Letter"
    return Pages(
        summary=" ".join(page["summary"]),
        html=rendered("month.html", page, pictures),
        print_html=rendered("month.html", page, pictures, paper=paper),
        appendix_html=rendered("appendix.html", appendix, appendix_pictures(figures)),
    )


def _common(figures: MonthFigures, edition: int, changes: Sequence[str]) -> dict[str, Any]:
    return {
        "title": sentences.title(figures),
        "property_name": figures.property_name,
        "cooperative_name": figures.cooperative_name,
        "month": wording.month_name(figures.month),
        "finished": figures.finished,
        "edition": edition,
        "changes": list(changes),
        "period": sentences.period(figures),
        "cut_off": wording.instant(figures.cut_off_at, figures.time_zone),
        "sources": sentences.sources(figures),
        "rules": wording.rule_words(figures.rules),
        "disclaimer": sentences.says_nothing_about(),
    }


def _page(figures: MonthFigures) -> dict[str, Any]:
    return {
        "area": sentences.area(figures),
        "summary": sentences.summary(figures),
        "people": [_person(one) for one in figures.who.people],
        "presence_remarks": sentences.presence_remarks(figures) + sentences.vehicles(figures),
        "taken": [
            {
                "on": wording.day(one.local_date),
                "kind": wording.harvest_class(one.harvest_class),
                "person": one.person,
            }
            for one in figures.deer.taken
        ],
        "deer_remarks": sentences.over_plan(figures) + sentences.deer_remarks(figures),
        "incidents": [_note(note) for note in figures.incidents.notes],
        "incident_remarks": sentences.incident_remarks(figures),
        "work": [wording.together(line) for line in sentences.work_lines(figures)],
        "work_notes": [
            wording.together(f"{note.what.rstrip('.')} ({wording.day(note.on)})")
            for note in figures.work.notes
        ],
        "next_dates": [
            {"on": wording.day(one.on), "what": sentences.next_date(one)}
            for one in figures.next_dates
        ],
        "contact": _contact(figures),
        "settings_lines": _page_settings(figures),
    }


def _appendix(figures: MonthFigures) -> dict[str, Any]:
    return {
        "scrape_lines": [appendix_sentences.scrape_line(one) for one in figures.appendix.scrapes],
        "scrapes": [
            {
                "name": one.name,
                "visits": one.whole.visits,
                "nights": f"{one.whole.camera_nights:.1f}",
                "limits": f"{one.whole.low:.1f}–{one.whole.high:.1f}",
                "expected": "" if one.whole.expected is None else f"{one.whole.expected:.1f}",
                "band": f"{one.expected_low}–{one.expected_high}",
                "watched": one.whole.expected is not None,
            }
            for one in figures.appendix.scrapes
        ],
        "limits_heading": _("%(pct)s %% limits")
        % {"pct": f"{figures.appendix.confidence * 100:g}"},
        "wind_line": appendix_sentences.wind_line(figures),
        "sits_line": appendix_sentences.sits_by_wind_line(figures),
        "wind_rows": [
            {"sector": sector, "hours": sum(hours), "sits": sits}
            for sector, hours, sits in zip(
                figures.appendix.wind.sectors,
                figures.appendix.wind.hours,
                figures.appendix.wind.sits,
                strict=True,
            )
        ],
        "settings_groups": settings_groups(figures.settings_used),
    }


def _person(one: PersonOnLand) -> dict[str, str]:
    by_span: dict[str, list[date]] = {}
    for on, span in one.sits:
        by_span.setdefault(span, []).append(on)
    by_span |= {"work": list(one.work_days)} if one.work_days else {}
    stays = [
        _("%(span)s %(days)s") % {"span": wording.span(span), "days": wording.days(days)}
        for span, days in by_span.items()
    ]
    return {
        "name": one.person,
        "standing": wording.standing(one.standing, one.through),
        "days": wording.together("; ".join(stays)),
    }


def _note(note: Note) -> dict[str, str]:
    return {
        "on": wording.day(note.on),
        "topic": wording.note_topic(note.topic),
        "what": note.what,
        "done": note.done or _("Nothing is entered yet."),
    }


def _contact(figures: MonthFigures) -> dict[str, str] | None:
    if figures.contact is None:
        return None
    return {
        "name": figures.contact.name,
        "phone": figures.contact.phone,
        "role": wording.role(figures.contact.role),
    }


def _page_settings(figures: MonthFigures) -> list[str]:
    used = figures.settings_used
    return [
        _("Settings: a season's year begins with month %(month)s;")
        % {"month": used["sits"]["season_year_first_month"]},
        _("next dates look %(days)s days ahead.") % {"days": used["reports"]["days_ahead"]},
    ]

"""A manager's week as a page; nothing of it is stored."""

from collections.abc import Iterable
from typing import Any

from coop.reports import wording
from coop.reports.rendering import rendered
from coop.reports.settings_words import settings_groups
from coop.reports.week import sentences
from coop.reports.week.figures import SessionAhead, SitAhead, WeekFigures
from properties.land.units import UnitSystem


def write_week_page(figures: WeekFigures, *, units: str) -> str:
    """The page in the reader's units; the same figures give the same text, byte for byte."""
    system = UnitSystem(units)
    zone = figures.time_zone
    context = {
        "title": sentences.title(figures),
        "property_name": figures.property_name,
        "cooperative_name": figures.cooperative_name,
        "first": wording.day_long(figures.first_on),
        "summary": sentences.summary(figures),
        "conflicts": [
            {
                "on": wording.day(one.on),
                "who": f"{one.person}, {one.stand} ({wording.span(one.span)})",
                "sentence": one.sentence,
            }
            for one in figures.conflicts
        ],
        "nothing_objects": sentences.nothing_objects(figures),
        "inspections": [sentences.inspection(one) for one in figures.inspections],
        "sits": [_sit(sit, zone) for sit in figures.sits],
        "errands": [
            {
                "due": wording.day(one.due_on),
                "is_overdue": one.is_overdue,
                "what": sentences.errand(one, zone),
                "assignee": one.assignee,
            }
            for one in figures.errands
        ],
        "sessions": list(_sessions(figures.sessions, system)),
        "closures": [
            {
                "first": wording.day(one.first_on),
                "last": wording.day(one.last_on),
                "reason": one.reason,
            }
            for one in figures.closures
        ],
        "forecast": sentences.forecast(figures),
        "period": sentences.period(figures),
        "cut_off": wording.instant(figures.cut_off_at, zone),
        "sources": sentences.sources(figures),
        "rules": sentences.rules_asked(figures.rules),
        "settings_groups": settings_groups(figures.settings_used, system=system),
        "disclaimer": sentences.cautions(),
    }
    return rendered("week.html", context, ())


def _sit(sit: SitAhead, zone: str) -> dict[str, str]:
    return {
        "on": wording.day(sit.on),
        "span": wording.span(sit.span),
        "stand": sit.stand,
        "person": sit.person,
        "standing": wording.standing(sit.standing, sit.through),
        "weapon": sit.weapon,
        "times": f"{wording.clock(sit.comes_at, zone)} – {wording.clock(sit.gone_by, zone)}",
    }


def _sessions(sessions: Iterable[SessionAhead], system: UnitSystem) -> Iterable[dict[str, Any]]:
    for session in sessions:
        yield {
            "on": wording.day(session.on),
            "kind": wording.span(session.kind),
            "wind": sentences.wind(session, system),
            "weather": sentences.weather(session, system),
            "stands": sentences.stands(session),
        }

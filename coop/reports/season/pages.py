"""From a season's figures to HTML for screens and for paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from coop.reports import sentences as month_sentences
from coop.reports import wording
from coop.reports.rendering import rendered
from coop.reports.season import sentences
from coop.reports.season.figures import PropertySeason, SeasonFigures
from coop.reports.season.pictures import season_pictures
from coop.reports.settings_words import settings_groups


@dataclass(frozen=True, kw_only=True)
class SeasonPages:
    summary: str
    html: str
    print_html: str


def write_season_pages(
    figures: SeasonFigures, *, edition: int, changes: Sequence[str]
) -> SeasonPages:
    """The pages of one edition; the same figures give the same text, byte for byte."""
    context = _context(figures, edition, changes)
    pictures = season_pictures(figures)
    return SeasonPages(
        summary=" ".join(context["summary"]),
        html=rendered("season.html", context, pictures),
        print_html=rendered("season.html", context, pictures, paper="Letter"),
    )


def _context(figures: SeasonFigures, edition: int, changes: Sequence[str]) -> dict[str, Any]:
    return {
        "title": sentences.title(figures),
        "cooperative_name": figures.cooperative_name,
        "season": sentences.season_name(figures.season_year),
        "finished": figures.finished,
        "edition": edition,
        "changes": list(changes),
        "summary": sentences.summary(figures),
        "over_plan": sentences.over_plan(figures),
        "seen": sentences.seen(figures.together),
        "sharing": sentences.sharing(figures),
        "lands": [_land(land) for land in figures.properties],
        "months": [
            {
                "name": wording.month_name(one.month),
                "sits": one.sits,
                "seen": one.deer_seen,
                "taken": one.deer_taken,
            }
            for one in figures.months
            if one.sits or one.deer_taken
        ],
        "watched": [sentences.watched_line(land) for land in figures.properties],
        "period": sentences.period(figures),
        "cut_off": wording.instant(figures.cut_off_at, (figures.time_zones or ("UTC",))[0]),
        "cut_off_zone": (figures.time_zones or ("UTC",))[0],
        "sources": sentences.sources(figures),
        "rules": sentences.rules(figures),
        "settings_groups": settings_groups(figures.settings_used),
        "disclaimer": month_sentences.says_nothing_about(),
    }


def _land(land: PropertySeason) -> dict[str, Any]:
    sitting = land.sitting
    return {
        "name": land.name,
        "sits": sitting.sits,
        "people": sitting.people,
        "hours": f"{sitting.hours:.0f}",
        "seen": sitting.deer_seen,
        "per_hour": _rate(sitting.deer_per_hour),
        "bucks_per_doe": _rate(sitting.bucks_per_doe),
        "closed_days": land.closed_days,
        "incidents": land.incidents,
        "work": land.work,
    }


def _rate(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"

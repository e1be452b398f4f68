"""Write the seasons: stored editions, each of them final for what was known."""

from dataclasses import dataclass
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from coop.printing.paper import to_pdf
from coop.reports.editions import write_edition
from coop.reports.figures import SettingsUsed
from coop.reports.models import SeasonReport
from coop.reports.queries import settings_of_final, settings_of_layers
from coop.reports.season import queries
from coop.reports.season.changes import changes_between
from coop.reports.season.figures import SeasonFigures, digest_of, season_figures
from coop.reports.season.gather import gather_season
from properties.land.models import Cooperative
from properties.land.years import first_day_of


@dataclass(frozen=True, kw_only=True)
class WrittenSeason:
    """The edition that holds, and whether it was written just now."""

    report: SeasonReport
    is_new: bool


def write_season(
    *, actor: Actor, cooperative: Cooperative, season_year: int, now: datetime
) -> WrittenSeason:
    """The edition of a cooperative's season as known at ``now``.

    The same figures give the edition that is stored; a correction gives a new one that says
    what changed. A finished season is counted again with the settings of its first edition.
    Raises ``ValidationError`` for a season not yet begun.
    """
    actor.require_in_cooperative(Action.SEASON_REPORT_WRITE, cooperative.id)
    if season_begins(cooperative, season_year) > now.date():
        raise ValidationError({"season_year": "This season has not begun."})
    report, is_new = write_edition(
        latest_of=lambda: queries.latest_edition(cooperative=cooperative, season_year=season_year),
        count=lambda latest: figures_of(
            cooperative=cooperative, season_year=season_year, now=now, latest=latest
        ),
        digest=lambda figures: digest_of(figures.as_dict()),
        draft=lambda figures, digest, latest: _draft(cooperative, figures, digest, latest),
        store=lambda draft, latest: _store(actor=actor, draft=draft, latest=latest, now=now),
    )
    return WrittenSeason(report=report, is_new=is_new)


def season_begins(cooperative: Cooperative, season_year: int) -> date:
    """The first day of a season's year by the cooperative's own settings."""
    settings = settings_of_layers(cooperative.settings)
    return first_day_of(season_year, first_month=settings.sits.season_year_first_month)


def figures_of(
    *, cooperative: Cooperative, season_year: int, now: datetime, latest: SeasonReport | None
) -> SeasonFigures:
    """The season's figures, with the settings of the stored edition once the season is over."""
    settings = _settings(cooperative, latest)
    rows = gather_season(
        cooperative=cooperative, season_year=season_year, now=now, settings=settings
    )
    return season_figures(rows, settings)


def _settings(cooperative: Cooperative, latest: SeasonReport | None) -> SettingsUsed:
    """Those of the cooperative: one season is counted by one measure on all its properties."""
    return settings_of_final(latest) or settings_of_layers(cooperative.settings)


def _draft(
    cooperative: Cooperative,
    figures: SeasonFigures,
    digest: str,
    latest: SeasonReport | None,
) -> SeasonReport:
    # Drawing loads slowly, and most processes never draw.
    from coop.reports.season.pages import write_season_pages

    told = figures.as_dict()
    edition = 1 if latest is None else latest.edition + 1
    changes = [] if latest is None else changes_between(latest.figures, told)
    pages = write_season_pages(figures, edition=edition, changes=changes)
    paper = to_pdf(pages.print_html)
    return SeasonReport(
        cooperative=cooperative,
        season_year=figures.season_year,
        edition=edition,
        figures=told,
        changes=changes,
        summary=pages.summary,
        html=pages.html,
        pdf=paper.pdf,
        pdf_missing_reason=paper.missing_reason,
        data_cut_off_at=figures.cut_off_at,
        digest=digest,
    )


@transaction.atomic
def _store(
    *, actor: Actor, draft: SeasonReport, latest: SeasonReport | None, now: datetime
) -> SeasonReport | None:
    """The stored draft, or None when somebody else wrote an edition meanwhile."""
    Cooperative.objects.select_for_update().get(pk=draft.cooperative_id)
    newest = queries.latest_edition(cooperative=draft.cooperative, season_year=draft.season_year)
    if (newest and newest.id) != (latest and latest.id):
        return None
    return writing.create(
        draft,
        actor=actor,
        action=Action.SEASON_REPORT_WRITE,
        now=now,
        property_id=None,
        reason="; ".join(draft.changes)[:300],
    )

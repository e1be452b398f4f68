"""Reports and notes that an actor may see, and what a property's next edition builds on."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from coop.reports.figures import SettingsUsed
from coop.reports.models import LandNote, MonthlyReport, SeasonReport
from coop.reports.settings import ReportSettings
from properties.land.models import Feature, Property
from properties.land.queries import features_visible_to, setting_layers
from properties.land.settings import InvalidSetting, resolve
from scheduling.sits.settings import SitSettings
from scrapes.visits.scrape_records import settings_from
from scrapes.visits.scrape_records import settings_in_force as visit_settings_in_force
from scrapes.visits.settings import SeasonSettings

# The pages and the paper are large; lists and figures do without them.
_HEAVY = ("html", "appendix_html", "pdf")


def reports_visible_to(
    *, actor: Actor, action: Action = Action.REPORT_READ
) -> QuerySet[MonthlyReport]:
    return scoped(MonthlyReport.objects.all(), actor=actor, action=action).defer(*_HEAVY)


def notes_visible_to(*, actor: Actor, action: Action = Action.LAND_NOTE_READ) -> QuerySet[LandNote]:
    return scoped(LandNote.objects.all(), actor=actor, action=action)


def mapped_features_visible_to(*, actor: Actor) -> QuerySet[Feature]:
    return features_visible_to(actor=actor).filter(retired_at=None)


def latest_edition(*, land: Property, month: date) -> MonthlyReport | None:
    """The newest edition of a month, or None when none was written."""
    editions = MonthlyReport.objects.filter(property=land, month=month).defer(*_HEAVY)
    return editions.order_by("-edition").first()


def figures_before(report: MonthlyReport) -> Mapping[str, Any] | None:
    """The figures of the edition before this one, or None where it is the first."""
    editions = MonthlyReport.objects.filter(property=report.property_id, month=report.month)
    return editions.filter(edition=report.edition - 1).values_list("figures", flat=True).first()


def report_settings_of(land: Property) -> ReportSettings:
    return resolve(ReportSettings, *setting_layers(land))


def settings_in_force(land: Property, *, now: datetime) -> SettingsUsed:
    """The settings that hold on a property, and the season's curve as learned by ``now``."""
    return replace(
        settings_of_layers(*setting_layers(land)), visits=visit_settings_in_force(land, now=now)
    )


def settings_used_by(figures: Mapping[str, Any]) -> SettingsUsed:
    """The settings with which a stored edition was made.

    Raises :class:`properties.land.settings.InvalidSetting` for one that no longer exists.
    """
    used = figures["settings_used"]
    settings = settings_of_layers(used)
    draws = tuple(SeasonSettings(**draw) for draw in used.get("season_draws", ()))
    return replace(settings, visits=replace(settings.visits, season_draws=draws))


def settings_of_final(latest: MonthlyReport | SeasonReport | None) -> SettingsUsed | None:
    """The settings by which a finished period was first counted, so that a new taste is no
    correction; None where none is stored as finished, or one of its settings is gone."""
    if latest is None or not latest.figures["finished"]:
        return None
    try:
        return settings_used_by(latest.figures)
    except (InvalidSetting, KeyError):
        return None


def settings_of_layers(*layers: Mapping[str, Any]) -> SettingsUsed:
    """The settings of stored layers, from the widest to the narrowest."""
    return SettingsUsed(
        report=resolve(ReportSettings, *layers),
        sits=resolve(SitSettings, *layers),
        visits=settings_from(*layers),
    )

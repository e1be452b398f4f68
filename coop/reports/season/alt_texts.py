"""Words in and beside a season's pictures, and what stands in for each."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.season import sentences
from coop.reports.season.figures import ClassSeason, SeasonFigures


def no_deer() -> str:
    return _("No deer and no plan on record.")


def taken_label() -> str:
    return _("Taken this season")


def plan_label() -> str:
    return _("Plan")


def class_line(name: str, one: ClassSeason) -> str:
    return f"{name}, {sentences.class_taken(one)}"


def deer(figures: SeasonFigures) -> str:
    lines = "; ".join(
        class_line(land.name, one) for land in figures.properties for one in land.classes
    )
    return _("Deer taken against each property's plan. %(lines)s.") % {
        "lines": lines or no_deer().rstrip(".")
    }


def deer_caption(figures: SeasonFigures) -> str:
    return _("Deer taken in the season %(season)s against each property's own plan.") % {
        "season": sentences.season_name(figures.season_year)
    }


def months(figures: SeasonFigures) -> str:
    told = "; ".join(
        ngettext("%(month)s %(n)d sit", "%(month)s %(n)d sits", one.sits)
        % {"month": wording.month_name(one.month), "n": one.sits}
        for one in figures.months
        if one.sits
    )
    return _("Sits by month: %(months)s.") % {"months": told or _("none in the whole season")}


def months_caption() -> str:
    return _("Sits by month on all properties.")

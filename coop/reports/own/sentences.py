"""A person's own season as sentences."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.own.figures import OwnSeason, OwnSit
from coop.reports.season.figures import Sitting
from coop.reports.season.sentences import season_name


def title(figures: OwnSeason) -> str:
    return _("%(person)s · season %(season)s") % {
        "person": figures.person,
        "season": season_name(figures.season_year),
    }


def summary(figures: OwnSeason) -> list[str]:
    sitting = figures.together
    told = [_sat(sitting)]
    taken = len(figures.deer)
    if taken:
        told.append(ngettext("You took %(n)d deer.", "You took %(n)d deer.", taken) % {"n": taken})
    if figures.coming:
        told.append(
            ngettext("%(n)d more sit is booked.", "%(n)d more sits are booked.", figures.coming)
            % {"n": figures.coming}
        )
    if figures.reports_owed:
        told.append(
            ngettext(
                "%(n)d sit still wants its report.",
                "%(n)d sits still want their reports.",
                figures.reports_owed,
            )
            % {"n": figures.reports_owed}
        )
    return told


def _sat(sitting: Sitting) -> str:
    if not sitting.sits:
        return _("You have not sat this season.")
    told = ngettext("You sat %(n)d time", "You sat %(n)d times", sitting.sits)
    told %= {"n": sitting.sits}
    if sitting.hours:
        told += _(", %(hours)s hours in all") % {"hours": f"{sitting.hours:g}"}
    return f"{told}."


def period(figures: OwnSeason) -> str:
    return _("%(first)s to %(last)s, by each property's own clocks (%(zones)s)") % {
        "first": wording.day_long(figures.first_on),
        "last": wording.day_long(figures.last_on),
        "zones": wording.listed(figures.time_zones),
    }


def seen(sit: OwnSit) -> str:
    if not sit.is_reported:
        return _("no report")
    told = ngettext("%(n)d deer", "%(n)d deer", sit.deer) % {"n": sit.deer}
    if sit.bucks or sit.does:
        told += " " + _("(%(bucks)d bucks, %(does)d does)") % {
            "bucks": sit.bucks,
            "does": sit.does,
        }
    return told


def state(name: str) -> str:
    return {
        "booked": _("booked"),
        "checked_in": _("checked in"),
        "checked_out": _("checked out"),
        "reported": _("reported"),
        "missed": _("missed"),
    }.get(name, name)


def rules(figures: OwnSeason) -> str:
    return wording.rule_words(figures.rules)


def sources(figures: OwnSeason) -> str:
    counts = figures.sources
    return _("Made from your sits %(sits)d, reports %(reports)d, deer taken %(deer)d.") % {
        "sits": counts["sits"],
        "reports": counts["sit_reports"],
        "deer": counts["deer_taken"],
    }

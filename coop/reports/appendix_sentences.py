"""The managers' appendix in sentences: scrapes and wind, counted, with no cause claimed."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.figures import MonthFigures
from coop.reports.rows import Count, ScrapeMonth


def scrape_line(one: ScrapeMonth) -> str:
    """A scrape's month, parted at its last scent: counts, camera-nights, expected. No cause."""
    if one.whole.expected is None:
        return _("%(name)s was not watched by a working camera.") % {"name": one.name}
    if one.scent_on is None or one.before is None or one.since is None:
        line = _("Visits at %(name)s were %(count)s; no scent was put on it this month.") % {
            "name": one.name,
            "count": _counted(one.whole),
        }
    else:
        line = _(
            "Visits at %(name)s were %(before)s; scent was last refreshed on %(on)s; "
            "since then %(since)s."
        ) % {
            "name": one.name,
            "before": _counted(one.before),
            "on": wording.day(one.scent_on),
            "since": _counted(one.since),
        }
    if one.untagged_stays:
        line += " " + ngettext(
            "Nobody has looked at the pictures of %(n)d stay yet; it is not counted.",
            "Nobody has looked at the pictures of %(n)d stays yet; they are not counted.",
            one.untagged_stays,
        ) % {"n": one.untagged_stays}
    return line


def _counted(count: Count) -> str:
    if count.expected is None:
        return _("not watched")
    return _("%(visits)d in %(nights)s camera-nights against %(expected)s expected") % {
        "visits": count.visits,
        "nights": f"{count.camera_nights:.0f}" if count.camera_nights >= 1 else "under 1",
        "expected": f"{count.expected:.0f}" if count.expected >= 1 else f"{count.expected:.1f}",
    }


def wind_line(figures: MonthFigures) -> str:
    wind = figures.appendix.wind
    hours = sum(sum(sector) for sector in wind.hours)
    if not hours + wind.calm_hours + wind.variable_hours:
        return _("No observed wind is on record for this month.")
    counts = (
        (hours, ngettext("%(n)d hour with a direction", "%(n)d hours with a direction", hours)),
        (wind.calm_hours, _("%(n)d calm")),
        (wind.variable_hours, _("%(n)d variable")),
        (wind.unknown_hours, _("%(n)d unknown")),
    )
    return _("%(counts)s; source: %(source)s.") % {
        "counts": ", ".join(words % {"n": count} for count, words in counts if count),
        "source": wind.source,
    }


def sits_by_wind_line(figures: MonthFigures) -> str:
    wind = figures.appendix.wind
    known = [
        f"{name} {count}" for name, count in zip(wind.sectors, wind.sits, strict=True) if count
    ]
    missing = wind.sits_without_observed_wind
    parts = [_("Sits by observed wind: %(known)s.") % {"known": ", ".join(known)}] if known else []
    if missing:
        parts.append(
            ngettext(
                "For %(n)d sit no observed wind is known.",
                "For %(n)d sits no observed wind is known.",
                missing,
            )
            % {"n": missing}
        )
    return " ".join(parts) or _("There was no sit.")

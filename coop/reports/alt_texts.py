"""Words in and beside the pictures: labels, captions, and what stands in for each picture."""

from itertools import pairwise

from django.utils.dates import WEEKDAYS_ABBR
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import appendix_sentences, sentences, wording
from coop.reports.figures import ClassTaken, MonthFigures
from coop.reports.presence import CalendarDay
from properties.land.units import Quantity, UnitSystem, show
from properties.wind.sectors import SECTOR_NAMES


def weekday_names() -> list[str]:
    """Abbreviated, from Sunday."""
    return [str(WEEKDAYS_ABBR[number]) for number in (6, 0, 1, 2, 3, 4, 5)]


def calendar(figures: MonthFigures) -> str:
    busy = [one for one in figures.calendar if one.morning or one.evening]
    closed = [one.on for one in figures.calendar if not one.open]
    told = (
        _("Calendar of sits. %(days)s.") % {"days": "; ".join(_day_words(one) for one in busy)}
        if busy
        else _("Calendar of sits: no day of the month had one.")
    )
    if closed:
        told += " " + _("Closed on %(days)s.") % {"days": wording.days(closed)}
    return told


def _day_words(one: CalendarDay) -> str:
    halves = [
        f"{count} {name}"
        for count, name in ((one.morning, _("morning")), (one.evening, _("evening")))
        if count
    ]
    return f"{wording.day(one.on)}: {wording.listed(halves)}"


def calendar_caption(figures: MonthFigures) -> str:
    told = _("Hunters by day: morning above, evening below.")
    if all(one.open for one in figures.calendar):
        return told
    return f"{told} {_('Hatched days were closed.')}"


def harvest(figures: MonthFigures) -> str:
    if not figures.deer.classes:
        return _("Deer taken against the plan: no deer and no plan on record.")
    lines = "; ".join(sentences.class_taken(one) for one in figures.deer.classes)
    return _("Deer taken against the plan. %(lines)s.") % {"lines": lines}


def harvest_caption(figures: MonthFigures) -> str:
    first, second = figures.deer.season_year, figures.deer.season_year + 1
    return _("Deer taken in the season %(first)d–%(second)s against the property's own plan.") % {
        "first": first,
        "second": f"{second % 100:02d}",
    }


def class_line(one: ClassTaken) -> str:
    planned = _("(no plan)") if one.planned is None else _("of %(n)d") % {"n": one.planned}
    line = f"{wording.harvest_class(one.harvest_class)}: {one.in_season} {planned}"
    over = one.in_season - (one.in_season if one.planned is None else one.planned)
    return _("%(line)s, %(n)d over") % {"line": line, "n": over} if over > 0 else line


def no_plan_and_no_deer() -> str:
    return _("No deer and no plan on record.")


def earlier_label() -> str:
    return _("Earlier this season")


def this_month_label() -> str:
    return _("This month")


def plan_label() -> str:
    return _("Plan")


def plan(figures: MonthFigures) -> str:
    areas = figures.plan.areas
    names = [area.name for area in areas]
    told = _("Plan of the property.")
    if names:
        told += " " + _("It shows the boundary and %(names)s.") % {"names": wording.listed(names)}
    else:
        told += " " + _("It shows the boundary.")
    worked = [area.name for area in areas if area.worked_on]
    if worked:
        told += " " + _("Work was done at %(names)s.") % {"names": wording.listed(worked)}
    return told


def plan_caption(figures: MonthFigures) -> str:
    kinds = {area.kind for area in figures.plan.areas}
    shown = [_("boundary")]
    shown += [_("food plots")] if "food_plot" in kinds else []
    shown += [_("water")] if "water" in kinds else []
    told = _("The land: %(shown)s.") % {"shown": wording.listed(shown)}
    if any(area.worked_on for area in figures.plan.areas):
        told += " " + _("A cross marks work done this month.")
    return told


def north_is_up() -> str:
    return _("North is up")


def visits(figures: MonthFigures) -> str:
    lines = " ".join(appendix_sentences.scrape_line(one) for one in figures.appendix.scrapes)
    return _("Visits at scrapes against expected. %(lines)s") % {"lines": lines or no_scrapes()}


def visits_caption(figures: MonthFigures) -> str:
    return _(
        "Visits counted this month with exact Poisson limits, and visits expected from each "
        "scrape's own record of %(days)d days, the cooperative's other scrapes, the season and the "
        "camera-nights; nine months in ten lie within the thin line."
    ) % {"days": figures.appendix.record_days}


def counted_label(figures: MonthFigures) -> str:
    return _("Counted, %(pct)s %% limits") % {"pct": f"{figures.appendix.confidence * 100:g}"}


def expected_label() -> str:
    return _("Expected")


def not_watched() -> str:
    return _("not watched")


def no_scrapes() -> str:
    return _("No scrape is on record.")


def wind_title() -> str:
    return _("Hours of wind from")


def sits_title() -> str:
    return _("Sits in wind from")


def compass_points() -> list[str]:
    return [_(name) for name in SECTOR_NAMES]


def speed_labels(figures: MonthFigures) -> list[str]:
    """The speed classes of the rose in the landowner's units, the last one open."""
    system = UnitSystem(figures.units)
    edges = [show(edge, Quantity.SPEED, system) for edge in figures.appendix.wind.speed_edges_mps]
    numbers = [edge.text.split(" ")[0] for edge in edges]
    unit = edges[0].unit
    between = [f"{low}–{high}" for low, high in pairwise(numbers)]
    return [f"< {numbers[0]} {unit}", *between, f"≥ {numbers[-1]} {unit}"]


def wind(figures: MonthFigures) -> str:
    return (
        f"{appendix_sentences.wind_line(figures)} {appendix_sentences.sits_by_wind_line(figures)}"
    )


def wind_caption(figures: MonthFigures) -> str:
    told = _("Observed wind by direction and speed, and sits by observed wind.")
    calm = figures.appendix.wind.calm_hours
    if calm:
        told += " " + ngettext("%(n)d hour was calm.", "%(n)d hours were calm.", calm) % {"n": calm}
    return told

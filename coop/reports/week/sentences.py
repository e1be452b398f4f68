"""A week ahead as sentences; nothing here says that a stand or a time is safe or lawful."""

from collections.abc import Iterable

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.week.conflicts import ERRAND_CODE
from coop.reports.week.figures import ErrandAhead, InspectionAhead, SessionAhead, WeekFigures
from properties.land.units import Quantity, UnitSystem, show
from scheduling.rules.catalogue import objection


def title(figures: WeekFigures) -> str:
    return _("%(land)s · week from %(day)s") % {
        "land": figures.property_name,
        "day": wording.day_long(figures.first_on),
    }


def summary(figures: WeekFigures) -> list[str]:
    sits, errands, conflicts = len(figures.sits), len(figures.errands), len(figures.conflicts)
    people = len({sit.person for sit in figures.sits})
    return [
        _("%(sits)s by %(people)s.")
        % {
            "sits": ngettext("%(n)d sit is booked", "%(n)d sits are booked", sits) % {"n": sits},
            "people": ngettext("%(n)d person", "%(n)d people", people) % {"n": people},
        }
        if sits
        else _("No sit is booked."),
        ngettext("%(n)d piece of work is open.", "%(n)d pieces of work are open.", errands)
        % {"n": errands}
        if errands
        else _("No work is due."),
        ngettext("%(n)d thing stands in the way.", "%(n)d things stand in the way.", conflicts)
        % {"n": conflicts}
        if conflicts
        else _nothing_in_the_way(figures.set_aside),
    ]


def _nothing_in_the_way(set_aside: int) -> str:
    if not set_aside:
        return _("Nothing that the house rules know stands in the way.")
    return ngettext(
        "Nothing that the house rules know stands in the way but %(n)d objection that a manager "
        "set aside.",
        "Nothing that the house rules know stands in the way but %(n)d objections that a manager "
        "set aside.",
        set_aside,
    ) % {"n": set_aside}


def nothing_objects(figures: WeekFigures) -> str:
    """What is said where nothing stands in the way: not more than that."""
    rules = _("No house rule objects to a booked sit")
    if figures.set_aside:
        rules += ngettext(
            ", but for %(n)d objection that a manager set aside",
            ", but for %(n)d objections that a manager set aside",
            figures.set_aside,
        ) % {"n": figures.set_aside}
    return _("%(rules)s, and no advised work meets one.") % {"rules": rules}


def period(figures: WeekFigures) -> str:
    return wording.days_by_clocks(figures.first_on, figures.last_on, figures.time_zone)


def wind(session: SessionAhead, system: UnitSystem) -> str:
    """``SW 8 mph, gusts 15 mph``; says so where the forecast does not reach or turns."""
    if session.speed_mps is None:
        return _("not forecast")
    speed = show(session.speed_mps, Quantity.SPEED, system).text
    told = (
        f"{session.sector} {speed}"
        if session.sector
        else _("turning, %(speed)s") % {"speed": speed}
    )
    if session.gust_mps is None:
        return told
    gust = show(session.gust_mps, Quantity.SPEED, system).text
    return _("%(wind)s, gusts %(gust)s") % {"wind": told, "gust": gust}


def weather(session: SessionAhead, system: UnitSystem) -> str:
    told = []
    if session.temperature_c is not None:
        told.append(show(session.temperature_c, Quantity.TEMPERATURE, system).text)
    if session.precipitation_mm:
        told.append(
            _("rain %(amount)s")
            % {"amount": show(session.precipitation_mm, Quantity.RAIN, system).text}
        )
    if session.precipitation_chance:
        told.append(
            _("chance of rain %(pct)s\u00a0%%")
            % {"pct": f"{100 * session.precipitation_chance:.0f}"}
        )
    return ", ".join(told)


def stands(session: SessionAhead) -> str:
    if not session.known_stands:
        return _("no fit is computed")
    told = _("%(fit)d of %(known)d stands suit the wind") % {
        "fit": session.fit_stands,
        "known": session.known_stands,
    }
    if not session.best_stands:
        return told
    return _("%(told)s: %(names)s first") % {
        "told": told,
        "names": wording.listed(session.best_stands),
    }


def errand(one: ErrandAhead, time_zone: str) -> str:
    kind = wording.work_due(one.kind, 1)
    told = f"{kind}: {one.thing}" if one.thing else kind
    if one.go_from is not None:
        told += " " + _("(least harm from %(at)s)") % {
            "at": wording.instant(one.go_from, time_zone)
        }
    return told


def inspection(one: InspectionAhead) -> str:
    if one.lapses_on is None:
        told = _("%(stand)s: no inspection is on record") % {"stand": one.stand}
    else:
        told = _("%(stand)s: the inspection holds no longer from %(day)s") % {
            "stand": one.stand,
            "day": wording.day_long(one.lapses_on),
        }
    if not one.sits_after:
        return f"{told}."
    return told + ngettext(
        "; %(n)d sit is booked there after that.",
        "; %(n)d sits are booked there after that.",
        one.sits_after,
    ) % {"n": one.sits_after}


def forecast(figures: WeekFigures) -> str:
    if figures.forecast is None:
        return _("No forecast is on record.")
    return _("Forecast of %(source)s, issued %(at)s.") % {
        "source": figures.forecast.source,
        "at": wording.instant(figures.forecast.issued_at, figures.time_zone),
    }


def sources(figures: WeekFigures) -> str:
    counts = figures.sources
    return _("Made from booked sits %(sits)d, open errands %(errands)d, stands %(stands)d.") % {
        "sits": counts["sits"],
        "errands": counts["open_errands"],
        "stands": counts["stands"],
    }


def rules_asked(codes: Iterable[str]) -> str:
    """What the week was asked for, by the rules' own titles."""
    titles = (
        _("Work advised during a sit") if code == ERRAND_CODE else objection(code).title
        for code in codes
    )
    return "; ".join(titles)


def cautions() -> str:
    return _(
        "It says what the property's settings allow, by what was known then. It never says that "
        "a stand, a time or a shot is safe or lawful: local law, the makers' instructions and "
        "licensed people decide that. Look at stand and weather yourself before anybody goes."
    )

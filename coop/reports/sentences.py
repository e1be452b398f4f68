"""Facts to sentences. They say what was counted and when, and claim no cause."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.figures import ClassTaken, MonthFigures
from coop.reports.next_dates import NextDate
from properties.land.units import Quantity, UnitSystem, show


def title(figures: MonthFigures) -> str:
    return f"{figures.property_name} · {wording.month_name(figures.month)}"


def area(figures: MonthFigures) -> str:
    shown = show(figures.area_m2, Quantity.AREA, UnitSystem(figures.units))
    if shown.unit == "acre":
        return _("%(number)s acres") % {"number": shown.text.removesuffix(" acre")}
    return shown.text


def period(figures: MonthFigures) -> str:
    return wording.days_by_clocks(figures.first_on, figures.last_on, figures.time_zone)


def summary(figures: MonthFigures) -> list[str]:
    """The month in at most four short sentences, the landowner's questions in their order."""
    sentences = [_people(figures), _taken(figures)]
    notes = len(figures.incidents.notes)
    if notes:
        sentences.append(
            ngettext("%(n)d incident is listed below.", "%(n)d incidents are listed below.", notes)
            % {"n": notes}
        )
    else:
        sentences.append(_("The managers entered no incident."))
    return sentences


def _people(figures: MonthFigures) -> str:
    who = figures.who
    if not who.presences:
        return _("Nobody is recorded on the land.")
    people = len({presence.person for presence in who.presences})
    who_came = ngettext("%(n)d person was", "%(n)d people were", people) % {"n": people}
    on_days = ngettext("%(n)d day", "%(n)d days", who.days) % {"n": who.days}
    if not who.sits:
        return _("%(who)s on the land on %(days)s, for work only.") % {
            "who": who_came,
            "days": on_days,
        }
    sits = ngettext("%(n)d sit", "%(n)d sits", who.sits) % {"n": who.sits}
    told = _("%(who)s on the land on %(days)s, for %(sits)s.") % {
        "who": who_came,
        "days": on_days,
        "sits": sits,
    }
    if not who.guests_and_clients:
        return told
    others = ngettext(
        "%(n)d of them was a guest or client.",
        "%(n)d of them were guests or clients.",
        who.guests_and_clients,
    )
    return f"{told} {others % {'n': who.guests_and_clients}}"


def _taken(figures: MonthFigures) -> str:
    count = len(figures.deer.taken)
    if not count:
        return _("No deer is recorded as taken.")
    return ngettext("%(n)d deer was taken.", "%(n)d deer were taken.", count) % {"n": count}


def vehicles(figures: MonthFigures) -> list[str]:
    """Whose vehicle stood there, for those who entered one."""
    entered = {one.person: one.vehicle for one in figures.who.people if one.vehicle}
    if not entered:
        return []
    told = "; ".join(f"{person}, {vehicle}" for person, vehicle in sorted(entered.items()))
    return [_("Vehicles, as entered: %(vehicles)s.") % {"vehicles": told}]


def presence_remarks(figures: MonthFigures) -> list[str]:
    who = figures.who
    remarks = []
    if who.without_check_in:
        remarks.append(
            ngettext(
                "%(n)d booked sit has no check-in on record; nobody is listed for it.",
                "%(n)d booked sits have no check-in on record; nobody is listed for them.",
                who.without_check_in,
            )
            % {"n": who.without_check_in}
        )
    if who.still_to_come:
        remarks.append(
            ngettext(
                "%(n)d more sit is booked before the month ends.",
                "%(n)d more sits are booked before the month ends.",
                who.still_to_come,
            )
            % {"n": who.still_to_come}
        )
    return remarks


def class_taken(one: ClassTaken) -> str:
    """``Antlerless: 3 this month, 7 this season, 10 planned``; what is over the plan is said."""
    line = _("%(kind)s: %(month)d this month, %(season)d this season") % {
        "kind": wording.harvest_class(one.harvest_class),
        "month": one.in_month,
        "season": one.in_season,
    }
    if one.planned is None:
        return _("%(line)s; no plan is entered") % {"line": line}
    line = _("%(line)s, %(planned)d planned") % {"line": line, "planned": one.planned}
    over = one.in_season - one.planned
    return (
        _("%(line)s: %(over)d over the plan") % {"line": line, "over": over} if over > 0 else line
    )


def over_plan(figures: MonthFigures) -> list[str]:
    """Said in words wherever more deer were taken than planned, or without a plan."""
    return [
        f"{class_taken(one)}."
        for one in figures.deer.classes
        if one.planned is None or one.in_season > one.planned
    ]


def deer_remarks(figures: MonthFigures) -> list[str]:
    deer = figures.deer
    if not deer.reports:
        return [_("No hunter's report came in.")]
    reports = ngettext("%(n)d hunter's report tells", "%(n)d hunters' reports tell", deer.reports)
    shots = ngettext("%(n)d shot", "%(n)d shots", deer.shots)
    return [
        _("%(reports)s of %(seen)d deer seen and %(shots)s; the same deer may be seen twice.")
        % {
            "reports": reports % {"n": deer.reports},
            "seen": deer.deer_seen,
            "shots": shots % {"n": deer.shots},
        }
    ]


def incident_remarks(figures: MonthFigures) -> list[str]:
    incidents = figures.incidents
    remarks = []
    if incidents.reports_of_something_wrong:
        remarks.append(
            ngettext(
                "%(n)d hunter's report told the managers of something amiss.",
                "%(n)d hunters' reports told the managers of something amiss.",
                incidents.reports_of_something_wrong,
            )
            % {"n": incidents.reports_of_something_wrong}
        )
    if incidents.reports_of_unsafe_stands:
        remarks.append(
            ngettext(
                "%(n)d report called a stand unfit for use.",
                "%(n)d reports called a stand unfit for use.",
                incidents.reports_of_unsafe_stands,
            )
            % {"n": incidents.reports_of_unsafe_stands}
        )
    return remarks


def work_lines(figures: MonthFigures) -> list[str]:
    lines = []
    for one in figures.work.done:
        line = _("%(what)s (%(days)s)") % {
            "what": wording.work_done(one.kind, one.count),
            "days": wording.days(one.days),
        }
        if one.failed:
            line += _("; %(n)d failed and closed") % {"n": one.failed}
        lines.append(line)
    return lines


def next_date(one: NextDate) -> str:
    until = wording.day(one.until) if one.until else ""
    if one.what == "season_begins":
        return _("%(name)s begins, to %(until)s") % {"name": one.name, "until": until}
    if one.what == "season_ends":
        return _("%(name)s ends") % {"name": one.name}
    if one.what == "closure":
        return _("Closed until the end of %(until)s: %(reason)s") % {
            "until": until,
            "reason": one.name,
        }
    if one.what == "work_due":
        return wording.work_due(one.name, one.count)
    return ngettext("%(n)d sit booked", "%(n)d sits booked, the last on %(until)s", one.count) % {
        "n": one.count,
        "until": until,
    }


def sources(figures: MonthFigures) -> str:
    counts = figures.sources
    return _(
        "Made from what the cooperative's members entered: sits %(sits)d, hunters' reports "
        "%(sit_reports)d, deer taken this season %(deer)d, records of work %(work)d, managers' "
        "notes %(notes)d."
    ) % {
        "sits": counts["sits"],
        "sit_reports": counts["sit_reports"],
        "deer": counts["deer_taken_in_season"],
        "work": counts["work_records"],
        "notes": counts["manager_notes"],
    }


def says_nothing_about() -> str:
    return _(
        "This report counts what was recorded. It says nothing about whether a stand, a time or "
        "a shot was safe or lawful: local law and licensed people decide that."
    )

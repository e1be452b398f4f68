"""Words for kinds and dates, translatable; what the database calls them stays behind."""

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def day(on: date) -> str:
    return date_format(on, _("M j"))


def day_long(on: date) -> str:
    return date_format(on, _("F j, Y"))


def days_by_clocks(first_on: date, last_on: date, time_zone: str) -> str:
    """A span of local dates, both included, and whose clocks they are of."""
    return _("%(first)s to %(last)s, by the clocks of %(zone)s") % {
        "first": day_long(first_on),
        "last": day_long(last_on),
        "zone": time_zone,
    }


def month_name(on: date) -> str:
    return date_format(on, _("F Y"))


def month_short(on: date) -> str:
    return date_format(on, _("M"))


def instant(at: datetime, time_zone: str) -> str:
    return date_format(at.astimezone(ZoneInfo(time_zone)), _("F j, Y, g:i A"))


def clock(at: datetime, time_zone: str) -> str:
    return date_format(at.astimezone(ZoneInfo(time_zone)), _("g:i A"))


def days(dates: Iterable[date]) -> str:
    """``Oct 3, 4 and 17``: one month's dates with the month said once."""
    dates = list(dates)
    if not dates:
        return ""
    return listed([day(dates[0]), *(str(on.day) for on in dates[1:])])


_BEFORE_A_SMALL_NUMBER = re.compile(r"(?<=[^\W\d_]) (?=\d{1,2}\b)")


def together(text: str) -> str:
    """The text with no line break between a word and the day after it: ``Oct 3``."""
    return _BEFORE_A_SMALL_NUMBER.sub("\N{NO-BREAK SPACE}", text)


def listed(items: Sequence[str]) -> str:
    if len(items) < 2:
        return "".join(items)
    return _("%(first)s and %(last)s") % {"first": ", ".join(items[:-1]), "last": items[-1]}


def span(name: str) -> str:
    return {
        "morning": _("morning"),
        "evening": _("evening"),
        "all_day": _("all day"),
        "work": _("work"),
    }.get(name, name)


def closed_ground(reason: str, *, whole: bool) -> str:
    """Why ground is closed, and whether all of it is, all day."""
    return (
        reason
        if whole
        else _("%(reason)s (not all of the ground, or not all day)") % {"reason": reason}
    )


def harvest_class(name: str) -> str:
    return {"antlered": _("Antlered"), "antlerless": _("Antlerless")}.get(name, name)


def note_topic(name: str) -> str:
    return {
        "incident": _("Incident"),
        "gate": _("Gate"),
        "damage": _("Damage"),
        "work": _("Work"),
    }.get(name, name)


def standing(name: str, through: str) -> str:
    """What somebody came as; nothing for a member."""
    if name == "guest":
        return _("Guest of %(host)s") % {"host": through}
    if name == "client":
        return _("Client of %(outfitter)s") % {"outfitter": through}
    if name == "outsider":
        return _("From outside")
    return ""


def role(name: str) -> str:
    return {"manager": _("Manager"), "coordinator": _("Coordinator")}.get(name, name)


def work_done(kind: str, count: int) -> str:
    """What was done, with its number: ``Scent refreshed at 3 scrapes``."""
    sentences = {
        "check_camera": ngettext(
            "%(count)d trail camera checked", "%(count)d trail cameras checked", count
        ),
        "inspection": ngettext("%(count)d stand inspected", "%(count)d stands inspected", count),
        "refresh_scent": ngettext(
            "Scent refreshed at %(count)d scrape", "Scent refreshed %(count)d times", count
        ),
        "mend": ngettext("One thing mended", "%(count)d things mended", count),
        "repair_scrape": ngettext("%(count)d scrape repaired", "%(count)d scrapes repaired", count),
        "scrape": ngettext(
            "%(count)d scrape built or tended", "%(count)d scrapes built or tended", count
        ),
        "trim": ngettext("Branches trimmed once", "Branches trimmed %(count)d times", count),
    }
    return sentences.get(kind, "%(count)d × " + kind.replace("_", " ")) % {"count": count}


def work_due(kind: str, count: int) -> str:
    sentences = {
        "check_camera": ngettext(
            "Check of a trail camera", "Checks of %(count)d trail cameras", count
        ),
        "inspect_stand": ngettext("Inspection of a stand", "Inspection of %(count)d stands", count),
        "mend": ngettext("Something to be mended", "%(count)d things to be mended", count),
        "refresh_scent": ngettext("Scent at a scrape", "Scent at %(count)d scrapes", count),
        "repair_scrape": ngettext("Repair of a scrape", "Repair of %(count)d scrapes", count),
        "trim": ngettext("Trimming of branches", "Trimming of branches, %(count)d places", count),
    }
    return sentences.get(kind, "%(count)d × " + kind.replace("_", " ")) % {"count": count}


def rule_words(rules: Iterable[str]) -> str:
    """How the counting goes, one sentence a rule."""
    words = {
        "present_if_checked_in": _("Whoever checked in was there."),
        "hours_from_check_in_to_check_out": _("Hours run from check-in to check-out."),
        "rates_from_reported_sits": _("Deer an hour are counted over reported sits with hours."),
        "deer_by_the_propertys_own_day": _("A deer counts on its property's own date."),
        "visits_in_watched_time": _("Visits count only while a camera worked."),
    }
    return " ".join(words.get(name, name) for name in rules)

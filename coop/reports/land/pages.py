"""The land's day as a page for the screen or the printer; nothing of it is stored."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop.reports import wording
from coop.reports.land.today import TRACKING, ClosedToday, LandToday, PersonToday
from coop.reports.rendering import rendered
from properties.land.closure_words import as_ending


def write_today_page(today: LandToday) -> str:
    """The page; the same figures give the same text."""
    zone = today.time_zone
    context = {
        "title": _("On the land: %(property)s") % {"property": today.property_name},
        "property_name": today.property_name,
        "cooperative_name": today.cooperative_name,
        "on": wording.day_long(today.on),
        "summary": _summary(today),
        "closed": [_closed(one) for one in today.closed],
        "there": [_person(one, zone) for one in today.there_now],
        "roster": [_person(one, zone) for one in today.roster],
        "asked_at": wording.instant(today.asked_at, zone),
        "disclaimer": _(
            "Telephone numbers are with the manager. This page makes no hunt lawful and no sit "
            "safe."
        ),
    }
    return rendered("land_today.html", context, ())


def _summary(today: LandToday) -> str:
    there = len(today.there_now)
    now = ngettext("%(count)d person is there now", "%(count)d people are there now", there)
    come = len(today.roster)
    sits = ngettext("%(count)d seat is taken today", "%(count)d seats are taken today", come)
    return f"{now % {'count': there}}; {sits % {'count': come}}."


def _closed(one: ClosedToday) -> str:
    what = _("A part of the ground is closed") if one.is_part else _("The ground is closed")
    when = {
        "morning": _("in the mornings until %(until)s"),
        "evening": _("in the evenings until %(until)s"),
    }.get(one.session_kind, _("until the end of %(until)s"))
    return f"{what} {when % {'until': wording.day(one.until)}}: {as_ending(one.reason)}"


def _person(one: PersonToday, zone: str) -> dict[str, str]:
    if one.state == TRACKING:
        return _on_foot(one, zone)
    times = f"{wording.clock(one.comes_at, zone)} – {wording.clock(one.gone_by, zone)}"
    return {
        "name": one.name,
        "standing": wording.standing(one.standing, one.through),
        "vehicle": one.vehicle,
        "stand": one.stand,
        "when": f"{wording.span(one.span)}, {times}",
        "note": _note(one, zone),
    }


def _on_foot(one: PersonToday, zone: str) -> dict[str, str]:
    since = _("on foot since %(at)s") % {"at": wording.clock(one.comes_at, zone)}
    return {
        "name": one.name,
        "standing": wording.standing(one.standing, one.through),
        "vehicle": one.vehicle,
        "stand": _("tracking a deer"),
        "when": _("back by %(at)s") % {"at": wording.clock(one.gone_by, zone)},
        "note": since + (_("; not back yet") if one.is_late else ""),
    }


def _note(one: PersonToday, zone: str) -> str:
    if one.is_there:
        came = one.came_at and wording.clock(one.came_at, zone)
        back = wording.clock(one.gone_by, zone)
        tracks = _("; tracking a deer, back by %(at)s") % {"at": back} if one.is_tracking else ""
        late = _("; not checked out yet") if one.is_late else ""
        return _("there since %(at)s") % {"at": came} + tracks + late
    if one.left_at is not None:
        return _("left at %(at)s") % {"at": wording.clock(one.left_at, zone)}
    return _("not checked in") if one.is_late else ""

"""Closed ground as errands meet it: where it is, in which hours, and in words.

Where a part is closed, a place in it is; where only mornings or evenings are, the hours before
local noon count as morning and the others as evening.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from textwrap import shorten
from zoneinfo import ZoneInfo

from shapely.geometry import shape

from properties.land import settings as layered_settings
from properties.land.closed_parts import LandSettings, reached_by
from properties.land.closure_words import GROUND_CLOSED, PART_CLOSED, closed_sentence
from properties.land.models import Closure, Property
from properties.land.queries import setting_layers
from properties.sessions.kinds import SessionKind
from scheduling.errands.places import Place

_MOST_LETTERS = 300
_ALMOST_AN_HOUR = timedelta(minutes=59)
_NOON = 12


def closures_at(
    closures: Iterable[Closure], place: Place | None, *, land: Property
) -> tuple[Closure, ...]:
    """Those that close a place, given as longitude and latitude; without one, the whole property's.

    ``land`` comes with its cooperative.
    """
    margin_m = layered_settings.resolve(LandSettings, *setting_layers(land)).closed_line_margin_m
    return tuple(row for row in closures if _is_closed_by(row, place, margin_m))


def is_open(hour: datetime, closures: Sequence[Closure], zone: ZoneInfo) -> bool:
    """Whether no minute of the hour that begins then falls on closed days."""
    if not closures:
        return True
    return not any(
        _closes(row, at.date(), _session_at(at))
        for row in closures
        for at in (hour.astimezone(zone), (hour + _ALMOST_AN_HOUR).astimezone(zone))
    )


def is_closed_all_day(on: date, closures: Sequence[Closure]) -> bool:
    """Whether both the morning and the evening of a local date are closed."""
    return all(
        any(_closes(row, on, session) for row in closures)
        for session in (SessionKind.MORNING, SessionKind.EVENING)
    )


def closed_words(closures: Iterable[Closure], *, today: date) -> str:
    """What an errand's advice says of the closures of its place; "" where there are none."""
    told = " ".join(_sentence(GROUND_CLOSED, row, today) for row in closures)
    return shorten(told, _MOST_LETTERS, placeholder=" …")


def closure_sentence(row: Closure, *, today: date) -> str:
    """One closure as the walk of a day tells of it."""
    return _sentence(GROUND_CLOSED if row.part is None else PART_CLOSED, row, today)


def _sentence(what: str, row: Closure, today: date) -> str:
    return closed_sentence(
        what,
        first_on=row.first_on,
        last_on=row.last_on,
        session_kind=row.session_kind,
        reason=row.reason,
        today=today,
    )


def _is_closed_by(row: Closure, place: Place | None, margin_m: float) -> bool:
    if row.part is None:
        return True
    if place is None:
        return False
    longitude, latitude = place
    reached = reached_by(
        shape(row.part), longitude=longitude, latitude=latitude, ways=(), margin_m=margin_m
    )
    return reached is not None


def _closes(row: Closure, on: date, session: SessionKind) -> bool:
    return row.first_on <= on <= row.last_on and row.session_kind in ("", session.value)


def _session_at(local: datetime) -> SessionKind:
    return SessionKind.MORNING if local.hour < _NOON else SessionKind.EVENING

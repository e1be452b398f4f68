"""Written instants to UTC seconds, many at a time, and why a cell is none.

Nothing is guessed: without an offset an instant is refused unless the caller names a zone. Years
run from 1970, where a camera's clock may fall back to, up to 2199.
"""

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.observation_rows import shown

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

_DAY_S = 86_400
_QUARTER_HOUR_S = 900
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - local clock time is counted without a zone

_FIRST_YEAR, _LAST_YEAR = 1970, 2199

_LONGEST = len("2026-11-02T06:30:00+00:00")
_SEPARATORS = {4: "-", 7: "-", 13: ":", 16: ":"}
_DIGITS = [place for place in range(19) if place not in {4, 7, 10, 13, 16}]


def offset_instants(written: Sequence[str]) -> tuple[Integers, Flags]:
    """ISO 8601 instants with ``Z`` or ``±hh:mm``: UTC seconds and which cells are valid.

    Exactly ``YYYY-MM-DDThh:mm:ssZ`` or ``YYYY-MM-DDThh:mm:ss±hh:mm``, as Camtrap DP asks. Seconds
    of invalid cells mean nothing.
    """
    letters = _letters(written)
    local, valid = _clock_time(letters, separators="T")
    zulu = (letters[:, 19] == ord("Z")) & (letters[:, 20:] == 0).all(axis=1)
    signed = np.isin(letters[:, 19], [ord("+"), ord("-")])
    signed &= _are_digits(letters[:, [20, 21, 23, 24]]) & (letters[:, 22] == ord(":"))
    signed &= letters[:, _LONGEST] == 0
    hours, minutes = _number(letters[:, 20:22]), _number(letters[:, 23:25])
    signed &= (hours <= 14) & (minutes < 60)
    offset = (hours * 60 + minutes) * 60
    offset = np.where(letters[:, 19] == ord("-"), -offset, offset)
    return local - np.where(signed, offset, 0), valid & (zulu | signed)


def clock_times(written: Sequence[str]) -> tuple[Integers, Flags]:
    """Local ISO times without offset (``T`` or a space between): seconds on that clock."""
    letters = _letters(written)
    local, valid = _clock_time(letters, separators="T ")
    return local, valid & (letters[:, 19:] == 0).all(axis=1)


def clock_times_as(written: Sequence[str], pattern: str) -> tuple[Integers, Flags]:
    """Local times written after a ``strptime`` pattern."""
    seconds, valid = np.zeros(len(written), dtype=np.int64), np.zeros(len(written), dtype=bool)
    for row, text in enumerate(written):
        try:
            moment = datetime.strptime(text, pattern)  # noqa: DTZ007 - the zone is applied later
        except ValueError:
            continue
        if moment.tzinfo is None and _FIRST_YEAR <= moment.year <= _LAST_YEAR:
            seconds[row] = (moment - _EPOCH) // timedelta(seconds=1)
            valid[row] = True
    return seconds, valid


def to_utc(local_s: Integers, zone: ZoneInfo) -> tuple[Integers, Integers, Flags, Flags]:
    """Clock seconds to UTC: (first, second, repeated, skipped), each of the same shape.

    When clocks go back an hour happens twice: ``repeated``, and ``first`` and ``second`` differ.
    When they go forward an hour does not happen: ``skipped``. Looked up once per quarter hour.
    """
    quarters, where = np.unique(local_s // _QUARTER_HOUR_S, return_inverse=True)
    offsets = np.zeros((2, len(quarters)), dtype=np.int64)
    for place, quarter in enumerate(quarters):
        moment = _EPOCH + timedelta(seconds=int(quarter) * _QUARTER_HOUR_S)
        for fold in (0, 1):
            shift = moment.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta()
            offsets[fold, place] = shift // timedelta(seconds=1)
    before, after = offsets[0][where], offsets[1][where]
    return local_s - before, local_s - after, before > after, before < after


def why_no_instant(text: str) -> tuple[str, str]:
    """A code and a sentence for a cell that is no instant with an offset."""
    if not text.strip():
        return "instant_missing", "The date and time are missing."
    mangled = why_mangled(text)
    if mangled is not None:
        return mangled
    if clock_times([text.strip()[:19]])[1][0]:
        rest = text.strip()[19:]
        if not rest:
            return (
                "offset_missing",
                f"{shown(text)} is a local time without an offset; the zone is not guessed.",
            )
        if rest.startswith("."):
            return "instant_fraction", f"{shown(text)} has fractions of a second."
    return (
        "instant_invalid",
        f"{shown(text)} is no date and time with an offset, from {_FIRST_YEAR} to {_LAST_YEAR}.",
    )


_SERIAL = re.compile(r"\d{5}([.,]\d+)?")
_SCIENTIFIC = re.compile(r"\d([.,]\d+)?E[+-]?\d+", re.IGNORECASE)
_MONTH = r"(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_SHORT_DATE = re.compile(rf"(\d{{1,2}}[-. ]{_MONTH}|{_MONTH}[-. ]\d{{1,4}})", re.IGNORECASE)
_WHOLE_DATE = re.compile(r"(\d{1,2}[./-]\d{1,2}[./-](\d{2}|\d{4})|\d{4}-\d{2}-\d{2})([ T].*)?")


_MAY_BE_MANGLED = re.compile(rf"\s*(#|\d|{_MONTH[: _MONTH.index(')') + 1]})", re.IGNORECASE)


def may_be_mangled(text: str) -> bool:
    """Whether a cell begins as something that a spreadsheet may have turned."""
    return _MAY_BE_MANGLED.match(text) is not None


def why_mangled(text: str, *, date_expected: bool = True) -> tuple[str, str] | None:
    """Names the marks that a spreadsheet leaves; None where there are none.

    ``date_expected`` False looks for dates where none belongs (a count of 1-2 turned "2-Jan").
    """
    cell = text.strip()
    if cell.startswith("#"):
        return (
            "spreadsheet_error",
            f"{shown(text)} is what a spreadsheet shows for a value it could not show.",
        )
    if _SCIENTIFIC.fullmatch(cell):
        return (
            "spreadsheet_number",
            f"{shown(text)} is a long number that a spreadsheet cut short.",
        )
    if date_expected and _SERIAL.fullmatch(cell):
        return (
            "spreadsheet_serial",
            f"{shown(text)} looks like a spreadsheet's day number instead of a date.",
        )
    if not date_expected and (_SHORT_DATE.fullmatch(cell) or _WHOLE_DATE.fullmatch(cell)):
        return (
            "spreadsheet_date",
            f"{shown(text)} is a date where none belongs: a spreadsheet may have turned it.",
        )
    return None


def _letters(written: Sequence[str]) -> Integers:
    """Code points, shape (cells, longest + 1); one more, so that a longer cell shows."""
    cells = np.array(written, dtype=f"U{_LONGEST + 1}")
    if not len(cells):
        return np.zeros((0, _LONGEST + 1), dtype=np.int64)
    points: Integers = cells.view(np.uint32).reshape(len(cells), _LONGEST + 1).astype(np.int64)
    return points


def _clock_time(letters: Integers, *, separators: str) -> tuple[Integers, Flags]:
    valid = _are_digits(letters[:, _DIGITS])
    valid &= np.isin(letters[:, 10], [ord(mark) for mark in separators])
    for place, mark in _SEPARATORS.items():
        valid &= letters[:, place] == ord(mark)
    year, month, day, hour, minute, second = (
        _number(letters[:, start:end])
        for start, end in ((0, 4), (5, 7), (8, 10), (11, 13), (14, 16), (17, 19))
    )
    valid &= (
        (year >= _FIRST_YEAR) & (year <= _LAST_YEAR) & (month >= 1) & (month <= 12) & (day >= 1)
    )
    valid &= (hour < 24) & (minute < 60) & (second < 60)
    months = (np.where(valid, year, 1970) - 1970) * 12 + np.where(valid, month, 1) - 1
    first = months.astype("datetime64[M]").astype("datetime64[D]")
    length = (months + 1).astype("datetime64[M]").astype("datetime64[D]") - first
    valid &= day <= length.astype(np.int64)
    days = first.astype(np.int64) + day - 1
    return days * _DAY_S + hour * 3_600 + minute * 60 + second, valid


def _are_digits(letters: Integers) -> Flags:
    return np.all((letters >= ord("0")) & (letters <= ord("9")), axis=1)


def _number(letters: Integers) -> Integers:
    value = np.zeros(len(letters), dtype=np.int64)
    for place in range(letters.shape[1]):
        value = value * 10 + (letters[:, place] - ord("0"))
    return value

"""Many surface reports in one text: where each begins and ends, and what became of it."""

import re
from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from properties.wind.metar_report import MetarReport, UnreadableReport, read_metar_report
from properties.wind.weather_hours import (
    ImpossibleWeather,
    PlausibleWeather,
    Skipped,
    WeatherHour,
    WeatherImport,
)

MAX_BULLETIN_LENGTH = 5_000_000

_REPORT_START = re.compile(r"(?:(?:METAR|SPECI)\s+)?(?:COR\s+)?[A-Z][A-Z0-9]{3}\s+\S{4,7}Z(?:\s|$)")
_KIND_ALONE = re.compile(r"(METAR|SPECI)(?:\s+COR)?")
# A channel number, or the heading that names data type, office and time of a bulletin.
_HEADING = re.compile(r"\d{3,5}|[A-Z]{4}\d{2}\s+[A-Z]{4}\s+\d{6}(?:\s+[A-Z]{3})?")
_FRAMING = "\x01\x03"


class ReportText(NamedTuple):
    """One report as it stood in the bulletin, from ``line`` (counted from 1) on."""

    line: int
    text: str
    kind: str


def read_metar_bulletin(
    bulletin: str | bytes,
    *,
    reference: datetime,
    bounds: PlausibleWeather | None = None,
) -> WeatherImport:
    """Hours out of a bulletin, in its order; ``reference`` resolves the reports' days.

    ``read`` counts reports, and lines that are none. A report that cannot be believed is
    skipped with its line and a reason, and so is one that a correction or a repetition for
    the same station and time replaces. Raises ``ValueError`` for a text over the size limit.
    """
    text = bulletin.decode("utf-8", "replace") if isinstance(bulletin, bytes) else bulletin
    text = text.removeprefix("\ufeff")
    if len(text) > MAX_BULLETIN_LENGTH:
        raise ValueError(f"bulletin longer than {MAX_BULLETIN_LENGTH} characters")
    taken: dict[tuple[str, datetime], tuple[int, MetarReport, WeatherHour]] = {}
    skipped: list[Skipped] = []
    read = 0
    for found in split_bulletin(text):
        read += 1
        try:
            report = read_metar_report(found.text, reference=reference, kind=found.kind)
            hour = report.weather_hour(bounds=bounds)
        except (UnreadableReport, ImpossibleWeather) as fault:
            skipped.append(Skipped(place=found.line, code=fault.code, reason=fault.detail))
            continue
        key = (report.station, report.instant)
        new = (found.line, report, hour)
        if key not in taken:
            taken[key] = new
            continue
        kept, replaced = _newer(taken[key], new)
        taken[key] = kept
        skipped.append(
            Skipped(
                place=replaced[0],
                code="replaced",
                reason=f"line {kept[0]} reports the same station and time",
            )
        )
    return WeatherImport(
        hours=tuple(hour for _, _, hour in taken.values()),
        skipped=tuple(sorted(skipped, key=lambda entry: int(entry.place))),
        read=read,
    )


_Taken = tuple[int, MetarReport, WeatherHour]


def _newer(old: _Taken, new: _Taken) -> tuple[_Taken, _Taken]:
    """(kept, replaced): the later one, unless only the earlier one is a correction."""
    if old[1].corrected and not new[1].corrected:
        return old, new
    return new, old


def split_bulletin(text: str) -> Iterator[ReportText]:
    """Reports in order. ``=`` ends one; a new station and time begins one.

    A line that is indented continues the report above, as does any line where the bulletin
    uses ``=`` and none has come yet. Blank lines end a report; headings are passed over.
    """
    ends_are_marked = "=" in text
    kind = "METAR"
    unfinished: ReportText | None = None
    for piece in _pieces(text):
        starts = _REPORT_START.match(piece.text) or not piece.text
        if unfinished and not starts and (piece.indented or ends_are_marked):
            unfinished = unfinished._replace(text=f"{unfinished.text}\n{piece.text}")
        else:
            if unfinished:
                yield unfinished
            alone = _KIND_ALONE.fullmatch(piece.text)
            kind = alone[1] if alone else kind
            is_report = piece.text and not alone and not _HEADING.fullmatch(piece.text)
            unfinished = ReportText(piece.line, piece.text, kind) if is_report else None
        if unfinished and piece.ended:
            yield unfinished
            unfinished = None
    if unfinished:
        yield unfinished


class _Piece(NamedTuple):
    """A line, or the part of one up to ``=``; a blank line is an empty piece."""

    line: int
    text: str
    indented: bool
    ended: bool


def _pieces(text: str) -> Iterator[_Piece]:
    for number, line in enumerate(text.split("\n"), start=1):
        indented = line[:1] in (" ", "\t")
        *ended, rest = line.strip(_FRAMING + " \t\r").split("=")
        for part in ended:
            if part.strip():
                yield _Piece(number, part.strip(), indented, ended=True)
        if rest.strip() or not ended:
            yield _Piece(number, rest.strip(), indented, ended=False)

"""Hours of wind out of a CSV file that somebody kept or exported.

The file: UTF-8, first line the header, one line an hour or reading. Columns, in any order:

| column | content |
|---|---|
| ``time`` | ISO 8601 date and time with offset (``Z`` or ``-05:00``); required |
| ``wind_from_deg`` | degrees true it blows from, 0 to 360; ``VRB`` where variable; required |
| ``speed_mps`` | or ``speed_kmh``, ``speed_kt``, ``speed_mph``; required |
| ``gust_mps`` | or ``gust_kmh``, ``gust_kt``, ``gust_mph`` |
| ``temperature_c`` | or ``temperature_f`` |
| ``cloud_fraction`` | 0 to 1, or ``cloud_percent`` |
| ``precipitation_mm`` | of the hour, or ``precipitation_in`` |
| ``precipitation_chance`` | 0 to 1, or ``precipitation_chance_percent`` |

An empty cell and ``NA`` mean unknown. Cells are parted by commas, tabs or semicolons; with
tabs and semicolons a decimal comma is read too. Speed 0 is calm whatever its direction.
"""

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import BinaryIO

from properties.land.years import can_be_meant
from properties.wind.weather_hours import (
    ImpossibleWeather,
    PlausibleWeather,
    Skipped,
    WeatherHour,
    WeatherImport,
    weather_hour,
)

SOURCE = "wind CSV"
MAX_ROWS = 500_000
MAX_LINE_LENGTH = 10_000

_MISSING = frozenset({"", "NA"})
_VARIABLE = frozenset({"VRB", "VARIABLE"})
_TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)?")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


_SPEED_UNITS = {
    "mps": _times(1.0),
    "kmh": _times(1 / 3.6),
    "kt": _times(1852 / 3600),
    "mph": _times(0.44704),
}
# Column name → (field of an hour, conversion to its unit).
_COLUMNS: dict[str, tuple[str, Callable[[float], float]]] = {
    **{f"speed_{unit}": ("speed_mps", change) for unit, change in _SPEED_UNITS.items()},
    **{f"gust_{unit}": ("gust_mps", change) for unit, change in _SPEED_UNITS.items()},
    "temperature_c": ("temperature_c", _times(1.0)),
    "temperature_f": ("temperature_c", lambda value: (value - 32) / 1.8),
    "cloud_fraction": ("cloud_fraction", _times(1.0)),
    "cloud_percent": ("cloud_fraction", lambda value: value / 100),
    "precipitation_mm": ("precipitation_mm", _times(1.0)),
    "precipitation_in": ("precipitation_mm", _times(25.4)),
    "precipitation_chance": ("precipitation_chance", _times(1.0)),
    "precipitation_chance_percent": ("precipitation_chance", lambda value: value / 100),
}
KNOWN_COLUMNS = ("time", "wind_from_deg", *_COLUMNS)


class UnreadableWindCsv(ValueError):
    """The file as a whole cannot be read; ``line`` is where reading stopped, from 1."""

    def __init__(self, line: int, detail: str) -> None:
        super().__init__(f"line {line}: {detail}")
        self.line = line
        self.detail = detail


class _BadRow(ValueError):
    def __init__(self, code: str, detail: str) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail


def read_wind_csv(
    file: bytes | BinaryIO,
    *,
    zone: tzinfo | None = None,
    bounds: PlausibleWeather | None = None,
    source: str = SOURCE,
) -> WeatherImport:
    """All hours of the file, and every line left out with its number and reason.

    Arguments and errors as for :func:`wind_csv_rows`; blank lines are not counted as read.
    """
    hours: list[WeatherHour] = []
    skipped: list[Skipped] = []
    for row in wind_csv_rows(file, zone=zone, bounds=bounds, source=source):
        if isinstance(row, Skipped):
            skipped.append(row)
        else:
            hours.append(row)
    return WeatherImport(hours=tuple(hours), skipped=tuple(skipped), read=len(hours) + len(skipped))


def wind_csv_rows(
    file: bytes | BinaryIO,
    *,
    zone: tzinfo | None = None,
    bounds: PlausibleWeather | None = None,
    source: str = SOURCE,
) -> Iterator[WeatherHour | Skipped]:
    """The file row by row, read as it comes: an hour, or what was wrong with the line.

    A time without offset is refused unless ``zone`` says what clock it was; a local time that
    the change of clocks skips or repeats is refused all the same. Of several lines for one
    instant the first counts. Raises :class:`UnreadableWindCsv` for a file that is not UTF-8
    text, has no usable header, or is too long.
    """
    lines = _lines(io.BytesIO(file) if isinstance(file, bytes) else file)
    first = next((line for line in lines if line.text.strip()), None)
    if first is None:
        raise UnreadableWindCsv(1, "the file is empty")
    delimiter = max(",;\t", key=first.text.count)
    table = _Table.with_header(next(csv.reader([first.text], delimiter=delimiter)), first.number)
    decimal_comma = delimiter != ","
    seen: dict[datetime, int] = {}
    for count, line in enumerate((line for line in lines if line.text.strip()), start=1):
        if count > MAX_ROWS:
            raise UnreadableWindCsv(line.number, f"more than {MAX_ROWS} rows")
        try:
            cells = _cells(line, delimiter)
            hour = table.hour(cells, decimal_comma, zone=zone, bounds=bounds, source=source)
            if hour.instant in seen:
                raise _BadRow("repeated_time", f"line {seen[hour.instant]} has the same time")
        except (_BadRow, ImpossibleWeather) as fault:
            yield Skipped(place=line.number, code=fault.code, reason=fault.detail)
        else:
            seen[hour.instant] = line.number
            yield hour


@dataclass(frozen=True, kw_only=True)
class _Line:
    number: int
    text: str


def _lines(file: BinaryIO) -> Iterator[_Line]:
    """Lines one at a time, so that neither a long file nor an endless line fills memory."""
    number = 0
    while content := file.readline(MAX_LINE_LENGTH + 1):
        number += 1
        if len(content) > MAX_LINE_LENGTH:
            raise UnreadableWindCsv(number, f"longer than {MAX_LINE_LENGTH} bytes")
        if number == 1:
            if content.startswith((b"\xff\xfe", b"\xfe\xff")):
                raise UnreadableWindCsv(1, "written in UTF-16; save it as UTF-8")
            content = content.removeprefix(b"\xef\xbb\xbf")
        try:
            text = content.decode("utf-8")
        except UnicodeDecodeError as error:
            raise UnreadableWindCsv(number, "not UTF-8 text; save it as UTF-8") from error
        if "\0" in text:
            raise UnreadableWindCsv(number, "holds a NUL: not a text file")
        yield _Line(number=number, text=text.rstrip("\r\n"))


def _cells(line: _Line, delimiter: str) -> list[str]:
    try:
        row = next(csv.reader([line.text], delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise _BadRow("malformed_row", f"quotes do not match: {error}") from error
    return [cell.strip() for cell in row]


@dataclass(frozen=True, kw_only=True)
class _Table:
    """Where each column stands."""

    width: int
    time: int
    direction: int
    quantities: tuple[tuple[str, int], ...]  # column name, place

    @classmethod
    def with_header(cls, header: list[str], line: int) -> "_Table":
        names = [name.strip().lower() for name in header]
        for name in names:
            if name not in KNOWN_COLUMNS:
                known = ", ".join(KNOWN_COLUMNS)
                raise UnreadableWindCsv(line, f"unknown column {name[:40]!r}; known: {known}")
        fields = [_COLUMNS[name][0] if name in _COLUMNS else name for name in names]
        for field in fields:
            if fields.count(field) > 1:
                given = ", ".join(n for n, f in zip(names, fields, strict=True) if f == field)
                raise UnreadableWindCsv(line, f"more than one column says the same: {given}")
        for required in ("time", "wind_from_deg", "speed_mps"):
            if required not in fields:
                raise UnreadableWindCsv(line, f"column {required} is missing")
        return cls(
            width=len(names),
            time=names.index("time"),
            direction=names.index("wind_from_deg"),
            quantities=tuple((name, place) for place, name in enumerate(names) if name in _COLUMNS),
        )

    def hour(
        self,
        cells: list[str],
        decimal_comma: bool,
        *,
        zone: tzinfo | None,
        bounds: PlausibleWeather | None,
        source: str,
    ) -> WeatherHour:
        if len(cells) != self.width:
            raise _BadRow("wrong_number_of_cells", f"{len(cells)} cells, not {self.width}")
        variable = cells[self.direction].upper() in _VARIABLE
        direction = None if variable else _number(cells, self.direction, "direction", decimal_comma)
        values: dict[str, float | None] = {}
        for name, place in self.quantities:
            field, convert = _COLUMNS[name]
            value = _number(cells, place, name, decimal_comma)
            values[field] = None if value is None else convert(value)
        return weather_hour(
            instant=_instant(cells[self.time], zone),
            wind_from_deg=direction,
            variable=variable,
            speed_mps=values["speed_mps"],
            gust_mps=values.get("gust_mps"),
            temperature_c=values.get("temperature_c"),
            cloud_fraction=values.get("cloud_fraction"),
            precipitation_mm=values.get("precipitation_mm"),
            precipitation_chance=values.get("precipitation_chance"),
            source=source,
            bounds=bounds,
        )


def _number(cells: list[str], place: int, name: str, decimal_comma: bool) -> float | None:
    text = cells[place]
    if text in _MISSING:
        return None
    plain = text.replace(",", ".", 1) if decimal_comma else text
    # Stricter than float(), which also takes "inf", "nan", "1_000" and other scripts' digits.
    if not (plain.isascii() and _NUMBER.fullmatch(plain)):
        raise _BadRow("malformed_number", f"{name} {text[:40]!r} is not a number")
    return float(plain)


def _instant(text: str, zone: tzinfo | None) -> datetime:
    if not _TIME.fullmatch(text):
        raise _BadRow("malformed_time", f"time {text[:40]!r} is not written YYYY-MM-DDThh:mm±hh:mm")
    try:
        written = datetime.fromisoformat(text)
    except ValueError as error:
        raise _BadRow("malformed_time", f"time {text} does not exist") from error
    if not can_be_meant(written.year):
        raise _BadRow("malformed_time", f"the year of {text} cannot be meant")
    if written.tzinfo is not None:
        return written.astimezone(UTC)
    if zone is None:
        raise _BadRow("time_without_offset", f"time {text} has no offset from UTC")
    return _from_clock(written, zone)


def _from_clock(local: datetime, zone: tzinfo) -> datetime:
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first == second:
        return first
    # Where the clock jumps ahead the skipped time comes out later by the first reading.
    if first > second:
        raise _BadRow("time_skipped_by_clock", f"the clocks skipped {local:%Y-%m-%d %H:%M}")
    raise _BadRow("time_repeated_by_clock", f"{local:%Y-%m-%d %H:%M} came twice; give the offset")

"""Lists of people as tables (CSV, RFC 4180): pure, every fault by its line and column.

A table has a header with exactly the columns of its kind, in any order; those that may be
empty may be left out. UTF-8, with or without a byte order mark. Dates are ISO 8601
(``2025-08-01``), numbers have a decimal point.
"""

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any

from properties.land.years import FIRST_YEAR, LAST_YEAR

MOST_ROWS = 5_000
MOST_BYTES = 2_000_000
LONGEST_CELL = 400
_EARLIEST_YEAR = 1900


class BulkKind(StrEnum):
    PAPERS = "papers"
    DUES = "dues"
    WORK_DAYS = "work_days"
    MEMBERS = "members"


@dataclass(frozen=True, kw_only=True)
class Fault:
    """What is wrong: ``line`` counts from the header's 1; an empty ``column`` is the whole line."""

    line: int
    column: str
    detail: str


@dataclass(frozen=True, kw_only=True)
class BulkRow:
    """One line's values by column; a cell that may be empty and is so is left out."""

    line: int
    values: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class BulkTable:
    """What was read: ``lines`` below the header that are not blank, as rows or as faults."""

    lines: int
    rows: tuple[BulkRow, ...]
    faults: tuple[Fault, ...]


@dataclass(frozen=True, kw_only=True)
class _Column:
    name: str
    read: Callable[[str], Any]
    needed: bool = True


def read_bulk(kind: BulkKind, content: bytes) -> BulkTable:
    """Rows and faults of a table; whatever the bytes, faults are returned and never raised."""
    try:
        text = _text(content)
        lines = _lines(text)
    except _UnreadableError as problem:
        return BulkTable(lines=0, rows=(), faults=(problem.fault,))
    if not lines:
        return _only(Fault(line=1, column="", detail="the table is empty; it needs a header"))
    header_line, header = lines[0]
    names = [cell.strip().lower() for cell in header]
    faults = _header_faults(kind, names, header_line)
    if faults:
        return BulkTable(lines=len(lines) - 1, rows=(), faults=tuple(faults))
    rows: list[BulkRow] = []
    for line, cells in lines[1:]:
        values, wrong = _values(kind, names, line, cells)
        faults += wrong
        if not wrong:
            rows.append(BulkRow(line=line, values=values))
    faults += _twice(kind, rows)
    faults.sort(key=lambda fault: fault.line)
    return BulkTable(lines=len(lines) - 1, rows=tuple(rows), faults=tuple(faults))


class _UnreadableError(Exception):
    def __init__(self, line: int, detail: str) -> None:
        super().__init__(detail)
        self.fault = Fault(line=line, column="", detail=detail)


def _only(fault: Fault) -> BulkTable:
    return BulkTable(lines=0, rows=(), faults=(fault,))


def _text(content: bytes) -> str:
    if len(content) > MOST_BYTES:
        raise _UnreadableError(1, f"has {len(content)} bytes; at most {MOST_BYTES} are read")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _UnreadableError(line, "is not UTF-8 text; save the table as UTF-8") from None
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise _UnreadableError(line, "holds a NUL character, which no text does")
    return text


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """The lines that are not blank, each with the number of the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    found: list[tuple[int, list[str]]] = []
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                found.append((begins, cells))
            if len(found) > MOST_ROWS + 1:
                raise _UnreadableError(begins, f"more than {MOST_ROWS} rows; send it in parts")
            begins = reader.line_num + 1
    except csv.Error as error:
        raise _UnreadableError(
            begins, f"the quotes do not end where they should ({error})"
        ) from None
    return found


def _header_faults(kind: BulkKind, names: Sequence[str], line: int) -> list[Fault]:
    known = {column.name: column for column in COLUMNS[kind]}
    faults = [
        Fault(line=line, column=name[:60], detail=f"no such column; known: {', '.join(known)}")
        for name in names
        if name not in known
    ]
    faults += [
        Fault(line=line, column=name, detail="the column is there twice")
        for name in sorted(set(names) & set(known))
        if names.count(name) > 1
    ]
    faults += [
        Fault(line=line, column=name, detail="the column is missing")
        for name, column in known.items()
        if column.needed and name not in names
    ]
    return faults


def _values(
    kind: BulkKind, names: Sequence[str], line: int, cells: Sequence[str]
) -> tuple[dict[str, Any], list[Fault]]:
    if len(cells) != len(names):
        detail = f"has {len(cells)} cells, and the header has {len(names)}"
        return {}, [Fault(line=line, column="", detail=detail)]
    columns = {column.name: column for column in COLUMNS[kind]}
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, cell in zip(names, cells, strict=True):
        try:
            value = _value(columns[name], cell.strip())
        except ValueError as problem:
            faults.append(Fault(line=line, column=name, detail=str(problem)))
            continue
        if value is not None:
            values[name] = value
    return values, faults


def _value(column: _Column, cell: str) -> Any:
    if len(cell) > LONGEST_CELL:
        raise ValueError(f"has {len(cell)} characters; at most {LONGEST_CELL} are read")
    if cell:
        return column.read(cell)
    if column.needed:
        raise ValueError("is empty")
    return None


def _twice(kind: BulkKind, rows: Sequence[BulkRow]) -> list[Fault]:
    """Rows about the same thing as a row above them."""
    first: dict[tuple[Any, ...], int] = {}
    faults: list[Fault] = []
    for row in rows:
        key = tuple(_folded(row.values.get(name)) for name in KEYS[kind])
        if key in first:
            detail = f"says again what line {first[key]} says ({', '.join(KEYS[kind])})"
            faults.append(Fault(line=row.line, column=KEYS[kind][0], detail=detail))
        first.setdefault(key, row.line)
    return faults


def _folded(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value


def _day(cell: str) -> date:
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", cell, re.ASCII):
        raise ValueError(f"{cell[:40]!r} is no date such as 2025-08-01")
    try:
        found = date.fromisoformat(cell)
    except ValueError:
        raise ValueError(f"{cell!r} is no day of the calendar") from None
    if not _EARLIEST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"must lie between the years {_EARLIEST_YEAR} and {LAST_YEAR}")
    return found


def _number(least: str, most: str) -> Callable[[str], Decimal]:
    def read(cell: str) -> Decimal:
        if not re.fullmatch(r"\d{1,9}(\.\d{1,2})?", cell, re.ASCII):
            raise ValueError(f"{cell[:40]!r} is no number such as 450 or 4.50")
        try:
            found = Decimal(cell)
        except InvalidOperation:
            raise ValueError(f"{cell[:40]!r} is no number") from None
        if not Decimal(least) <= found <= Decimal(most):
            raise ValueError(f"must lie between {least} and {most}")
        return found

    return read


def _whole(least: int, most: int) -> Callable[[str], int]:
    def read(cell: str) -> int:
        if not re.fullmatch(r"\d{1,6}", cell, re.ASCII) or not least <= int(cell) <= most:
            raise ValueError(f"must be a whole number from {least} to {most}")
        return int(cell)

    return read


def _words(most: int) -> Callable[[str], str]:
    def read(cell: str) -> str:
        if len(cell) > most:
            raise ValueError(f"has {len(cell)} characters; at most {most} are kept")
        if any(not char.isprintable() for char in cell):
            raise ValueError("holds a character that cannot be printed")
        return cell

    return read


def _matching(pattern: str, what: str) -> Callable[[str], str]:
    def read(cell: str) -> str:
        if not re.fullmatch(pattern, cell, re.ASCII):
            raise ValueError(f"{cell[:40]!r} is no {what}")
        return cell

    return read


def _names(cell: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name.strip() for name in cell.split(";") if name.strip()))


_EMAIL = _matching(r"[^@\s\"<>(),;:\\\[\]]{1,64}@[A-Za-z0-9.-]{1,120}\.[A-Za-z]{2,24}", "address")
_KIND_OF_PAPER = _matching(r"[a-z][a-z0-9_]{0,39}", "kind of paper such as licence or waiver")
_CURRENCY = _matching(r"[A-Z]{3}", "code of a currency such as USD")

COLUMNS: Mapping[BulkKind, tuple[_Column, ...]] = {
    BulkKind.PAPERS: (
        _Column(name="person", read=_words(200)),
        _Column(name="kind", read=_KIND_OF_PAPER),
        _Column(name="expires_on", read=_day, needed=False),
        _Column(name="confirmed_on", read=_day, needed=False),
    ),
    BulkKind.DUES: (
        _Column(name="person", read=_words(200)),
        _Column(name="season_year", read=_whole(FIRST_YEAR, LAST_YEAR)),
        _Column(name="amount", read=_number("0", "9999999.99")),
        _Column(name="currency", read=_CURRENCY, needed=False),
        _Column(name="due_on", read=_day),
        _Column(name="paid_on", read=_day, needed=False),
    ),
    BulkKind.WORK_DAYS: (
        _Column(name="person", read=_words(200)),
        _Column(name="property", read=_words(200)),
        _Column(name="worked_on", read=_day),
        _Column(name="hours", read=_number("0.25", "24")),
        _Column(name="what", read=_words(300)),
    ),
    BulkKind.MEMBERS: (
        _Column(name="email", read=_EMAIL),
        _Column(name="name", read=_words(200)),
        _Column(name="phone", read=_words(40), needed=False),
        _Column(name="joined_on", read=_day),
        _Column(name="share", read=_whole(1, 1_000), needed=False),
        _Column(name="properties", read=_names, needed=False),
    ),
}
KEYS: Mapping[BulkKind, tuple[str, ...]] = {
    BulkKind.PAPERS: ("person", "kind"),
    BulkKind.DUES: ("person", "season_year"),
    BulkKind.WORK_DAYS: ("person", "property", "worked_on", "what"),
    BulkKind.MEMBERS: ("email",),
}

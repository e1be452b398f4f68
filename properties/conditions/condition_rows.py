"""Read conditions from a table (CSV, RFC 4180): pure, one row a condition, times with offset.

Columns: ``reference``, ``kind``, ``starts_at``, ``ends_at`` (empty: until further notice),
``value`` (thunder: chance 0..1; fire_danger: level 1..5; water: gauge height in metres; ice:
empty). Every line that is left out has its reason.
"""

import csv
import io
import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from properties.land.years import can_be_meant

COLUMNS = ("reference", "kind", "starts_at", "ends_at", "value")
_FIGURES = {
    "thunder": ("thunder_chance", 0.0, 1.0),
    "fire_danger": ("fire_danger_level", 1.0, 5.0),
    "water": ("water_level_m", -50.0, 100.0),
    "ice": (None, 0.0, 0.0),
}


@dataclass(frozen=True, kw_only=True)
class ConditionRow:
    """One condition as a source tells it; ``figure`` names the column of ``value``."""

    line: int
    reference: str
    kind: str
    starts_at: datetime
    ends_at: datetime | None
    figure: str | None
    value: float | None

    def columns(self) -> dict[str, Any]:
        """The columns of the stored condition that this row gives."""
        whole = int(self.value) if self.figure == "fire_danger_level" and self.value else None
        shown = {"kind": self.kind, "starts_at": self.starts_at, "ends_at": self.ends_at}
        for figure, _least, _most in _FIGURES.values():
            if figure is not None:
                shown[figure] = (whole or self.value) if figure == self.figure else None
        return shown


@dataclass(frozen=True, kw_only=True)
class SkippedLine:
    line: int
    reason: str


@dataclass(frozen=True, kw_only=True)
class ConditionTable:
    """What was read and what was left out, with reasons; lines counted from the header's 1."""

    rows: tuple[ConditionRow, ...]
    skipped: tuple[SkippedLine, ...]


def read_conditions(text: str) -> ConditionTable:
    """Rows of a table with a header. Raises ``ValueError`` where a column is missing."""
    reader = csv.DictReader(io.StringIO(text))
    missing = [name for name in COLUMNS if name not in (reader.fieldnames or ())]
    if missing:
        raise ValueError(f"columns are missing: {', '.join(missing)}")
    rows: list[ConditionRow] = []
    skipped: list[SkippedLine] = []
    seen: set[str] = set()
    for cells in reader:
        line = reader.line_num
        try:
            row = _row(line, {name: (cells[name] or "").strip() for name in COLUMNS})
        except ValueError as problem:
            skipped.append(SkippedLine(line=line, reason=str(problem)))
            continue
        if row.reference in seen:
            reason = f"the reference {row.reference} stands above already"
            skipped.append(SkippedLine(line=line, reason=reason))
            continue
        seen.add(row.reference)
        rows.append(row)
    return ConditionTable(rows=tuple(rows), skipped=tuple(skipped))


def _row(line: int, cells: dict[str, str]) -> ConditionRow:
    if not cells["reference"]:
        raise ValueError("no reference, by which it would be known again")
    if cells["kind"] not in _FIGURES:
        raise ValueError(f"the kind {cells['kind']!r} is none of {', '.join(_FIGURES)}")
    figure, least, most = _FIGURES[cells["kind"]]
    starts_at = _instant("starts_at", cells["starts_at"])
    ends_at = _instant("ends_at", cells["ends_at"]) if cells["ends_at"] else None
    if ends_at is not None and ends_at <= starts_at:
        raise ValueError("ends_at does not lie after starts_at")
    return ConditionRow(
        line=line,
        reference=cells["reference"],
        kind=cells["kind"],
        starts_at=starts_at,
        ends_at=ends_at,
        figure=figure,
        value=None if figure is None else _number(cells["value"], figure, least, most),
    )


def _instant(name: str, text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{name} {text!r} is no instant of ISO 8601") from None
    if found.utcoffset() is None:
        raise ValueError(f"{name} {text!r} carries no offset")
    if not can_be_meant(found.year):
        raise ValueError(f"the year of {name} {text!r} cannot be meant")
    return found.astimezone(UTC)


def _number(text: str, figure: str, least: float, most: float) -> float:
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"{figure} {text!r} is no number") from None
    if not (math.isfinite(value) and least <= value <= most):
        raise ValueError(f"{figure} must lie between {least:g} and {most:g}")
    if figure == "fire_danger_level" and value != int(value):
        raise ValueError("fire_danger_level is a whole number")
    return value

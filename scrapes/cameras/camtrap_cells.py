"""Cells of Camtrap DP tables: missing values, closed lists, counts, figures, instants."""

import math
from collections.abc import Callable, Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.instants import offset_instants, why_mangled, why_no_instant
from scrapes.cameras.observation_rows import LARGEST_COUNT, NOT_STATED, RowFaults, shown
from scrapes.cameras.tables import Batch

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

MISSING = frozenset({"", "NA", "NaN", "nan"})


def mark_repeated(faults: RowFaults, ids: Sequence[str], known: Collection[str], code: str) -> None:
    """Skip rows whose id stands earlier in the batch or is already ``known``."""
    earlier = set(known)
    repeated = np.zeros(len(ids), dtype=bool)
    for row, identity in enumerate(ids):
        repeated[row] = identity in earlier
        earlier.add(identity)
    faults.mark(repeated, code, "The id {} stands twice.", ids)


def given(batch: Batch, name: str) -> list[str]:
    """A column's cells, missing ones as empty text."""
    return ["" if cell in MISSING else cell for cell in batch.column(name)]


def each_once(cells: Sequence[str], changed: Callable[[str], str]) -> list[str]:
    """Cells as ``changed``; asked once for each different cell where few differ."""
    different = set(cells)
    if 2 * len(different) > len(cells):
        return [changed(cell) for cell in cells]
    answers = {cell: changed(cell) for cell in different}
    return list(map(answers.__getitem__, cells))


def flags(cells: Sequence[str], holds: Callable[[str], bool]) -> Flags:
    """Which cells ``holds`` is true of; asked once for each different cell."""
    answers = {cell: bool(holds(cell)) for cell in set(cells)}
    if not any(answers.values()):
        return np.zeros(len(cells), dtype=bool)
    return np.fromiter(map(answers.__getitem__, cells), dtype=bool, count=len(cells))


def empty(cells: Sequence[str]) -> Flags:
    """Which cells are empty text; (rows,)."""
    if "" not in cells:
        return np.zeros(len(cells), dtype=bool)
    return np.fromiter((not cell for cell in cells), dtype=bool, count=len(cells))


def longer(cells: Sequence[str], limit: int) -> Flags:
    """Which cells have more than ``limit`` letters; (rows,)."""
    if max(map(len, cells), default=0) <= limit:
        return np.zeros(len(cells), dtype=bool)
    return np.fromiter((len(cell) > limit for cell in cells), dtype=bool, count=len(cells))


def instants(faults: RowFaults, cells: Sequence[str]) -> Integers:
    """UTC seconds, 0 where a cell is none; such rows are skipped with the reason."""
    seconds, valid = offset_instants(cells)
    bad = np.flatnonzero(~valid & faults.sound).tolist()
    faults.mark_each(~valid, {row: why_no_instant(cells[row]) for row in bad})
    return np.where(valid, seconds, 0)


def one_of(
    faults: RowFaults, batch: Batch, name: str, allowed: tuple[str, ...], *, required: bool = False
) -> list[str]:
    """Cells of a column with a closed list of values; others skip their row."""
    cells = given(batch, name)
    fits = {*allowed} if required else {*allowed, ""}
    faults.mark(
        ~flags(cells, fits.__contains__),
        f"{name}_invalid",
        f"{name} is {{}}; it must be one of {', '.join(allowed)}.",
        cells,
    )
    return cells


def counts(faults: RowFaults, cells: Sequence[str]) -> Integers:
    """Whole numbers of at least 1, or ``NOT_STATED``."""
    known = {cell: _count(cell) for cell in set(cells)}
    stated = np.fromiter(map(known.__getitem__, cells), dtype=np.int64, count=len(cells))
    bad = stated < NOT_STATED
    reasons = {
        row: why_mangled(cells[row], date_expected=False)
        or (
            "count_invalid",
            f"count is {shown(cells[row])}; it must be a whole number from 1 to {LARGEST_COUNT}.",
        )
        for row in np.flatnonzero(bad).tolist()
    }
    faults.mark_each(bad, reasons)
    return stated


def _count(cell: str) -> int:
    """The number written, ``NOT_STATED`` for none, -1 for what is no count."""
    if not cell:
        return NOT_STATED
    if not (cell.isascii() and cell.isdigit() and len(cell) <= 6):
        return -1
    return int(cell) if 1 <= int(cell) <= LARGEST_COUNT else -1


def numbers(
    faults: RowFaults, batch: Batch, name: str, low: float, high: float, *, required: bool = False
) -> NDArray[np.float64]:
    """Figures within bounds, NaN where not given."""
    cells = given(batch, name)
    figures = np.array([_number(cell) for cell in cells], dtype=np.float64)
    missing = empty(cells)
    inside = (figures >= low) & (figures <= high) & np.isfinite(figures)
    bad = ~inside if required else ~inside & ~missing
    faults.mark(bad, f"{name}_invalid", f"{name} is {{}}, which is no such figure.", cells)
    return figures


def _number(cell: str) -> float:
    try:
        return float(cell) if cell.isascii() and "_" not in cell else math.nan
    except ValueError:
        return math.nan


def booleans(faults: RowFaults, batch: Batch, name: str) -> list[bool | None]:
    """``true`` and ``false``, None where not given."""
    cells = one_of(faults, batch, name, ("true", "false"))
    return [None if not cell else cell == "true" for cell in cells]


def or_none(number: float) -> float | None:
    """The number, or None where it is not finite."""
    return float(number) if np.isfinite(number) else None


def listed(cell: str) -> tuple[str, ...]:
    """Items of a ``|`` list."""
    return tuple(item.strip() for item in cell.split("|") if item.strip())

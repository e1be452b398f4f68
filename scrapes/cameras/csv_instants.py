"""When each row of a table happened, by what its mapping says of dates, times and clocks."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.camtrap_cells import empty
from scrapes.cameras.column_mapping import ColumnMapping
from scrapes.cameras.csv_cells import cells_of
from scrapes.cameras.instants import (
    clock_times,
    clock_times_as,
    offset_instants,
    to_utc,
    why_mangled,
    why_no_instant,
)
from scrapes.cameras.observation_rows import RowFaults, shown
from scrapes.cameras.tables import Batch

Integers = NDArray[np.int64]


def instants_of(faults: RowFaults, batch: Batch, mapping: ColumnMapping) -> Integers:
    """Seconds since 1970 in UTC (rows,); 0 in a row that is marked in ``faults``."""
    written = cells_of(batch, mapping.instant)
    if mapping.clock is not None:
        clock = cells_of(batch, mapping.clock)
        faults.mark(empty(clock), "instant_missing", "The time of day is missing.", clock)
        written = [f"{day} {time}" for day, time in zip(written, clock, strict=True)]
    if mapping.zone is None:
        seconds, valid = offset_instants([_with_t(cell) for cell in written])
        return _sound_instants(faults, written, seconds, valid)
    if mapping.pattern is None:
        # A cell with an offset of its own needs no zone, even in a table of local times.
        aware, has_offset = offset_instants([_with_t(cell) for cell in written])
        local, is_local = clock_times(written)
        utc = _on_clock(faults, written, local, is_local, mapping)
        return _sound_instants(
            faults, written, np.where(has_offset, aware, utc), has_offset | is_local
        )
    local, valid = clock_times_as(written, mapping.pattern)
    utc = _on_clock(faults, written, local, valid, mapping)
    return _sound_instants(faults, written, utc, valid, pattern=mapping.pattern)


def _with_t(cell: str) -> str:
    return cell.replace(" ", "T", 1)


def _on_clock(
    faults: RowFaults,
    written: Sequence[str],
    local: Integers,
    valid: NDArray[np.bool_],
    mapping: ColumnMapping,
) -> Integers:
    first, second, repeated, skipped = to_utc(np.where(valid, local, 0), mapping.clock_zone())
    faults.mark(
        valid & skipped,
        "instant_skipped_hour",
        "{} never was: clocks went forward over it.",
        written,
    )
    if mapping.repeated_hour == "refuse":
        faults.mark(
            valid & repeated,
            "instant_repeated_hour",
            "{} was twice: clocks went back over it. Say which is meant.",
            written,
        )
    return second if mapping.repeated_hour == "second" else first


def _sound_instants(
    faults: RowFaults,
    written: Sequence[str],
    seconds: Integers,
    valid: NDArray[np.bool_],
    *,
    pattern: str | None = None,
) -> Integers:
    bad = np.flatnonzero(~valid & faults.sound).tolist()
    faults.mark_each(~valid, {row: _why_bad(written[row], pattern) for row in bad})
    return np.where(valid, seconds, 0)


def _why_bad(cell: str, pattern: str | None) -> tuple[str, str]:
    code, reason = why_no_instant(cell)
    first = cell.split(" ")[0]
    mangled = why_mangled(first)
    if mangled is not None:
        return mangled
    if pattern is not None and code in {"instant_invalid", "offset_missing"}:
        return "instant_invalid", f"{shown(cell)} is not written after {shown(pattern)}."
    return code, reason

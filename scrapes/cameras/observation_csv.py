"""Observations from a CSV table of anybody's making, by a mapping of its columns.

What a mapping must say, nothing guessing it: which column holds the date and time, how it is
written if not by ISO 8601, and for times without an offset in which zone the camera's clock ran.
Columns left out of the mapping are left out of the import. Cells are stripped of blanks around
them; ``NA``, ``NaN``, ``nan`` and nothing are missing.
"""

import hashlib
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.camtrap_cells import MISSING, counts, each_once, empty, flags, longer
from scrapes.cameras.column_mapping import ColumnMapping
from scrapes.cameras.instants import (
    clock_times,
    clock_times_as,
    may_be_mangled,
    offset_instants,
    to_utc,
    why_mangled,
    why_no_instant,
)
from scrapes.cameras.observation_rows import (
    KINDS,
    LIFE_STAGES,
    LIGHTS,
    LONGEST_TEXT,
    SEXES,
    Account,
    ImportRefused,
    ObservationColumns,
    Reconciliation,
    RowFaults,
    RowsRefused,
    joined,
    shown,
    texts,
)
from scrapes.cameras.seen_keys import SeenKeys, mark_seen
from scrapes.cameras.settings import ImportSettings
from scrapes.cameras.tables import UNREADABLE, Batch, batches, bounded_text

Integers = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class CsvReading:
    """A whole table in memory with its account."""

    observations: ObservationColumns
    account: Reconciliation


def read_observation_csv(
    place: Path,
    *,
    mapping: ColumnMapping,
    deployments: Collection[str] | None = None,
    settings: ImportSettings,
    strict: bool = True,
) -> CsvReading:
    """Read a table (``.csv`` or ``.csv.gz``) at once.

    ``deployments`` are the names known; None takes any. ``strict`` is all or nothing: raises
    :class:`RowsRefused` when a row cannot be taken. Raises :class:`ImportRefused` as the mapping
    and the table do.
    """
    account = Account("observations", lines_listed=settings.skipped_lines_listed)
    rows = joined(
        observation_batches(
            place, mapping=mapping, deployments=deployments, settings=settings, account=account
        )
    )
    closed = account.close()
    if strict and closed.skipped_count:
        raise RowsRefused([closed])
    return CsvReading(observations=rows, account=closed)


def observation_batches(
    place: Path,
    *,
    mapping: ColumnMapping,
    deployments: Collection[str] | None,
    settings: ImportSettings,
    account: Account,
) -> Iterator[ObservationColumns]:
    """Sound rows in batches; what was not taken goes to ``account``."""
    seen = SeenKeys()
    try:
        source = place.open("rb")
    except UNREADABLE as error:
        raise ImportRefused("file_missing", "The file cannot be opened.") from error
    with source:
        try:
            text = bounded_text(
                source,
                name=place.name,
                packed_size=place.stat().st_size,
                packed=False,
                settings=settings,
                encoding=mapping.encoding,
            )
        except LookupError as error:
            raise ImportRefused(
                "encoding_invalid", f"There is no encoding {shown(mapping.encoding)}."
            ) from error
        for batch in batches(
            text,
            table="observations",
            required=mapping.columns,
            account=account,
            settings=settings,
            delimiter=mapping.delimiter,
        ):
            yield _columns(batch, mapping, deployments, seen, account)


def _columns(
    batch: Batch,
    mapping: ColumnMapping,
    deployments: Collection[str] | None,
    seen: SeenKeys,
    account: Account,
) -> ObservationColumns:
    faults = RowFaults(batch.line, account)
    places = _cells(batch, mapping.deployment)
    faults.mark(empty(places), "deployment_missing", "The camera is missing.", places)
    if deployments is not None:
        known = frozenset(deployments)
        faults.mark(
            ~flags(places, known.__contains__),
            "deployment_unknown",
            "The camera {} is not known.",
            places,
        )
    at = _instants(faults, batch, mapping)
    kind = _translated(faults, batch, mapping.kind, mapping.kinds, KINDS, missing="animal")
    sex = _translated(faults, batch, mapping.sex, mapping.sexes, SEXES)
    stage = _translated(faults, batch, mapping.life_stage, mapping.life_stages, LIFE_STAGES)
    light = _translated(faults, batch, mapping.light, mapping.lights, LIGHTS)
    count = counts(faults, _cells(batch, mapping.count))
    species = _plain_text(faults, _cells(batch, mapping.species), "species")
    who = _plain_text(faults, _cells(batch, mapping.individual), "individual")
    if mapping.observation_id is None:
        ids = _identities(faults, places, at, (kind, species, sex, stage, who), seen)
    else:
        ids = _plain_text(faults, _cells(batch, mapping.observation_id), "observation_id")
        faults.mark(empty(ids), "id_missing", "The row's id is missing.", ids)
        mark_seen(faults, ids, seen)
    return ObservationColumns(
        line=batch.line,
        observation_id=texts(ids),
        deployment_id=texts(places),
        start_s=at,
        end_s=at.copy(),
        kind=texts(kind),
        event_level=np.zeros(len(batch), dtype=bool),
        set_up=np.zeros(len(batch), dtype=bool),
        species=texts(species),
        count=count,
        sex=texts(sex),
        life_stage=texts(stage),
        individual=texts(who),
        daylight=flags(light, lambda cell: cell == "day"),
    ).taken(faults.sound)


def _cells(batch: Batch, column: str | None) -> list[str]:
    if column is None:
        return [""] * len(batch)
    return each_once(batch.column(column), _without_blanks)


def _without_blanks(cell: str) -> str:
    stripped = cell.strip()
    return "" if stripped in MISSING else stripped


def _instants(faults: RowFaults, batch: Batch, mapping: ColumnMapping) -> Integers:
    written = _cells(batch, mapping.instant)
    if mapping.clock is not None:
        clock = _cells(batch, mapping.clock)
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


def _translated(
    faults: RowFaults,
    batch: Batch,
    column: str | None,
    words: Mapping[str, str],
    known: tuple[str, ...],
    *,
    missing: str = "",
) -> list[str]:
    if column is None:
        return [missing] * len(batch)
    table = {word: word for word in known} | {"": "unknown" if missing else ""} | dict(words)
    cells = _cells(batch, column)
    faults.mark(
        ~flags(cells, table.__contains__),
        "word_unknown",
        "{} is not translated: it must be one of " + f"{', '.join(known)}.",
        cells,
    )
    return [table.get(cell, "") for cell in cells]


def _plain_text(faults: RowFaults, cells: list[str], name: str) -> list[str]:
    faults.mark(longer(cells, LONGEST_TEXT[name]), f"{name}_too_long", "{} is too long.", cells)
    why = {
        cell: said
        for cell in filter(may_be_mangled, set(cells))
        if (said := why_mangled(cell, date_expected=False)) is not None
    }
    if why:
        bad = flags(cells, why.__contains__)
        faults.mark_each(bad, {row: why[cells[row]] for row in np.flatnonzero(bad).tolist()})
    return cells


def _identities(
    faults: RowFaults,
    places: Sequence[str],
    at: Integers,
    described: Sequence[Sequence[str]],
    seen: SeenKeys,
) -> list[str]:
    """Ids out of what rows say, so that the same table read again gives the same ids."""
    digests = [
        hashlib.blake2b(
            "\x1f".join(map(str, cells)).encode("utf-8", "surrogatepass"), digest_size=12
        )
        for cells in zip(places, at.tolist(), *described, strict=True)
    ]
    keys = np.array([int.from_bytes(one.digest()[:8], "big", signed=True) for one in digests])
    counts_before = seen.counts(keys).tolist()
    here: Counter[int] = Counter()
    ids = []
    for row, (digest, key) in enumerate(zip(digests, keys.tolist(), strict=True)):
        # The same words twice are two pictures of the same second, not one row twice.
        here[key] += bool(faults.sound[row])
        ids.append(f"{digest.hexdigest()}-{counts_before[row] + here[key]}")
    seen.add(keys[faults.sound])
    return ids

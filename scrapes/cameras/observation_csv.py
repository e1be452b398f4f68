"""Observations from a CSV table of anybody's making, by a mapping of its columns.

What a mapping must say, nothing guessing it: which column holds the date and time, how it is
written if not by ISO 8601, and for times without an offset in which zone the camera's clock ran.
Columns left out of the mapping are left out of the import. Cells are stripped of blanks around
them; ``NA``, ``NaN``, ``nan`` and nothing are missing.
"""

import hashlib
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scrapes.cameras.camtrap_cells import counts, empty, flags
from scrapes.cameras.column_mapping import ColumnMapping
from scrapes.cameras.csv_cells import cells_of, plain_text, translated
from scrapes.cameras.csv_instants import Integers, instants_of
from scrapes.cameras.observation_rows import (
    KINDS,
    LIFE_STAGES,
    LIGHTS,
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
    places = cells_of(batch, mapping.deployment)
    faults.mark(empty(places), "deployment_missing", "The camera is missing.", places)
    if deployments is not None:
        known = frozenset(deployments)
        faults.mark(
            ~flags(places, known.__contains__),
            "deployment_unknown",
            "The camera {} is not known.",
            places,
        )
    at = instants_of(faults, batch, mapping)
    kind = translated(faults, batch, mapping.kind, mapping.kinds, KINDS, missing="animal")
    sex = translated(faults, batch, mapping.sex, mapping.sexes, SEXES)
    stage = translated(faults, batch, mapping.life_stage, mapping.life_stages, LIFE_STAGES)
    light = translated(faults, batch, mapping.light, mapping.lights, LIGHTS)
    count = counts(faults, cells_of(batch, mapping.count))
    species = plain_text(faults, cells_of(batch, mapping.species), "species")
    who = plain_text(faults, cells_of(batch, mapping.individual), "individual")
    if mapping.observation_id is None:
        ids = _identities(faults, places, at, (kind, species, sex, stage, who), seen)
    else:
        ids = plain_text(faults, cells_of(batch, mapping.observation_id), "observation_id")
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

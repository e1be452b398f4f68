"""What a package of our own tells of its cameras beside the standard: outages, signs of life.

By the standard a camera worked from the start of its deployment to the end. Two tables of our own
say when it did not, and up to when it is known; in a package without them nothing is read.
"""

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from scrapes.cameras.camtrap_cells import booleans, flags, given, instants, numbers, one_of, or_none
from scrapes.cameras.camtrap_terms import (
    OUTAGE_FIELDS,
    OUTAGE_KINDS,
    OUTAGES,
    STATUS_FIELDS,
    STATUSES,
)
from scrapes.cameras.observation_rows import Account, Reconciliation, RowFaults
from scrapes.cameras.package_files import PackageFiles, checked_path
from scrapes.cameras.settings import ImportSettings
from scrapes.cameras.tables import Batch, batches

Row = TypeVar("Row")
_LONGEST_NOTE = 300


@dataclass(frozen=True, kw_only=True)
class OutageRow:
    """Time in which a camera did not work; ``end_s`` None while it lasts. UTC seconds."""

    deployment_id: str
    kind: str
    start_s: int
    end_s: int | None
    estimated: bool
    notes: str


@dataclass(frozen=True, kw_only=True)
class StatusRow:
    """A sign of life; figures None where not read. UTC seconds."""

    deployment_id: str
    reported_s: int
    card_pulled: bool
    battery_percent: float | None
    card_used_percent: float | None


@dataclass(frozen=True, kw_only=True)
class CameraLives:
    """Both tables, where they lie, and an account of their rows."""

    paths: tuple[str, ...]
    outages: tuple[OutageRow, ...]
    statuses: tuple[StatusRow, ...]
    accounts: tuple[Reconciliation, ...]


def read_lives(
    files: PackageFiles,
    description: Mapping[str, Any],
    *,
    deployments: Collection[str],
    settings: ImportSettings,
) -> CameraLives | None:
    """Our own tables of a package; None unless it has both, with our columns."""
    paths = {
        name: _own_table(description, name, fields)
        for name, fields in ((OUTAGES, OUTAGE_FIELDS), (STATUSES, STATUS_FIELDS))
    }
    if None in paths.values():
        return None
    accounts = []

    def read(name: str, rows_of: Callable[[Batch, RowFaults], list[Row]]) -> tuple[Row, ...]:
        account = Account(name, lines_listed=settings.skipped_lines_listed)
        rows: list[Row] = []
        with files.opened(str(paths[name]), settings=settings) as text:
            for batch in batches(
                text, table=name, required=_REQUIRED[name], account=account, settings=settings
            ):
                faults = RowFaults(batch.line, account)
                faults.mark(
                    flags(given(batch, "deploymentID"), lambda one: one not in deployments),
                    "deployment_unknown",
                    "The deployment {} is not among those taken.",
                    given(batch, "deploymentID"),
                )
                rows += rows_of(batch, faults)
        accounts.append(account.close())
        return tuple(rows)

    outages, statuses = read(OUTAGES, _outages), read(STATUSES, _statuses)
    return CameraLives(
        paths=tuple(str(path) for path in paths.values()),
        outages=outages,
        statuses=statuses,
        accounts=tuple(accounts),
    )


_REQUIRED = {OUTAGES: tuple(OUTAGE_FIELDS), STATUSES: tuple(STATUS_FIELDS)}


def _own_table(description: Mapping[str, Any], name: str, fields: Mapping[str, str]) -> str | None:
    """The table's path, if its schema names exactly our columns: others' tables are theirs."""
    for resource in description.get("resources") or ():
        if not isinstance(resource, Mapping) or resource.get("name") != name:
            continue
        schema = resource.get("schema")
        columns = schema.get("fields") if isinstance(schema, Mapping) else None
        if not isinstance(columns, Sequence) or isinstance(columns, str):
            return None
        names = [one.get("name") for one in columns if isinstance(one, Mapping)]
        return checked_path(resource.get("path")) if names == list(fields) else None
    return None


def _outages(batch: Batch, faults: RowFaults) -> list[OutageRow]:
    names = given(batch, "deploymentID")
    kinds = one_of(faults, batch, "kind", OUTAGE_KINDS, required=True)
    start = instants(faults, batch.column("start"))
    ends = given(batch, "end")
    # An outage that lasts has no end; its own start stands in for the check of the cell.
    end = instants(faults, [e or s for e, s in zip(ends, batch.column("start"), strict=True)])
    has_end = np.array([bool(cell) for cell in ends], dtype=bool)
    faults.mark(
        has_end & (end <= start),
        "ends_before_start",
        "The outage of {} ends before it starts.",
        names,
    )
    estimated, notes = booleans(faults, batch, "estimated"), given(batch, "notes")
    return [
        OutageRow(
            deployment_id=names[row],
            kind=kinds[row],
            start_s=int(start[row]),
            end_s=int(end[row]) if ends[row] else None,
            estimated=bool(estimated[row]),
            notes=notes[row][:_LONGEST_NOTE],
        )
        for row in np.flatnonzero(faults.sound).tolist()
    ]


def _statuses(batch: Batch, faults: RowFaults) -> list[StatusRow]:
    names = given(batch, "deploymentID")
    reported = instants(faults, batch.column("reportedAt"))
    pulled = booleans(faults, batch, "cardPulled")
    battery = numbers(faults, batch, "batteryPercent", -math.inf, math.inf)
    used = numbers(faults, batch, "cardUsedPercent", -math.inf, math.inf)
    return [
        StatusRow(
            deployment_id=names[row],
            reported_s=int(reported[row]),
            card_pulled=bool(pulled[row]),
            battery_percent=or_none(battery[row]),
            card_used_percent=or_none(used[row]),
        )
        for row in np.flatnonzero(faults.sound).tolist()
    ]

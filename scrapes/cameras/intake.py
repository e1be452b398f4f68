"""Store one file's rows batch by batch, each once, and count what became of every row."""

from collections.abc import Callable, Iterator
from itertools import islice
from uuid import UUID

import numpy as np

from scrapes.cameras.bulk_insert import insert_observations
from scrapes.cameras.import_sources import ObservationFile
from scrapes.cameras.models import Observation, ObservationImport
from scrapes.cameras.night import in_the_dark
from scrapes.cameras.observation_rows import Account, Reconciliation, RowFaults
from scrapes.cameras.placements import Outside, PlacedRows, Placements, place_rows
from scrapes.cameras.settings import ImportSettings

KEYS_AT_A_TIME = 5_000

Report = Callable[[int, str], None]
"""Told the progress in per cent and a note."""


class Intake:
    """Rows of one import inside its transaction; ``held`` were stored before.

    ``outside`` tells, by deployment, of rows whose time lies outside it, ``daylight`` how many of
    its rows are said to be taken by daylight, and how many of these carry a time of night.
    """

    def __init__(
        self, *, batch: ObservationImport, where: Placements, settings: ImportSettings
    ) -> None:
        self._batch, self._where, self._settings = batch, where, settings
        self._account = Account("observations", lines_listed=settings.skipped_lines_listed)
        self.held = 0
        self.outside: dict[UUID, Outside] = {}
        self.daylight: dict[UUID, tuple[int, int]] = {}
        self._places = {
            one.deployment_id: (one.latitude, one.longitude)
            for placements in where.by_name.values()
            for one in placements
        }
        self.reconciliation: Reconciliation | None = None

    def take(self, file: ObservationFile, report: Report) -> None:
        # Where nothing is stored yet nothing can be held already: no need to look for each row.
        may_hold = Observation.objects.filter(deployment__in=self._where.deployment_ids()).exists()
        seen = 0
        for rows in file.batches(self._account):
            faults = RowFaults(rows.line, self._account)
            placed = place_rows(rows, where=self._where, faults=faults)
            for deployment_id, outside in placed.outside.items():
                self.outside[deployment_id] = outside.joined(self.outside.get(deployment_id))
            if may_hold:
                placed = self._not_held(placed)
            self._watch_clocks(placed)
            insert_observations(placed, batch_id=self._batch.id)
            seen += len(rows)
            report(_percent(seen, file.rows_expected), f"{seen:,} rows read")
        self.reconciliation = file.reconciled(self._account)

    def _watch_clocks(self, placed: PlacedRows) -> None:
        """Hold what rows say of their light against the sun at their time and place."""
        by_day = np.flatnonzero(placed.rows.daylight)
        for deployment_id in dict.fromkeys(placed.deployment_id[by_day].tolist()):
            rows = by_day[placed.deployment_id[by_day] == deployment_id]
            dark = in_the_dark(
                placed.rows.start_s[rows],
                latitude_deg=self._places[deployment_id][0],
                longitude_deg=self._places[deployment_id][1],
                below_deg=self._settings.dark_below_deg,
            )
            told, against = self.daylight.get(deployment_id, (0, 0))
            self.daylight[deployment_id] = (told + len(rows), against + int(dark.sum()))

    def _not_held(self, placed: PlacedRows) -> PlacedRows:
        """Leave out rows that are stored; an id stored with another time means another row."""
        stored = _stored(placed)
        keys = list(zip(placed.deployment_id, placed.rows.observation_id, strict=True))
        same = np.zeros(len(keys), dtype=bool)
        other = np.zeros(len(keys), dtype=bool)
        for row, key in enumerate(keys):
            if key in stored:
                same[row] = stored[key] == placed.rows.start_s[row]
                other[row] = not same[row]
        faults = RowFaults(placed.rows.line, self._account)
        faults.mark(
            other,
            "id_reused",
            "The id {} is stored already for another time at this camera.",
            placed.rows.observation_id.tolist(),
        )
        self.held += int(same.sum())
        new = faults.sound & ~same
        return PlacedRows(
            rows=placed.rows.taken(new),
            deployment_id=placed.deployment_id[new],
            outside=placed.outside,
        )


def _stored(placed: PlacedRows) -> dict[tuple[UUID, str], int]:
    """UTC seconds of what is stored under the rows' keys, by deployment and key."""
    deployments = set(placed.deployment_id.tolist())
    stored: dict[tuple[UUID, str], int] = {}
    for keys in _chunks(placed.rows.observation_id.tolist()):
        found = Observation.objects.filter(deployment__in=deployments, source_key__in=keys)
        for deployment_id, key, at in found.values_list(
            "deployment_id", "source_key", "observed_at"
        ):
            stored[(deployment_id, key)] = int(at.timestamp())
    return stored


def _chunks(keys: list[str]) -> Iterator[list[str]]:
    remaining = iter(keys)
    while chunk := list(islice(remaining, KEYS_AT_A_TIME)):
        yield chunk


def _percent(seen: int, expected: int | None) -> int:
    """Between 10 and 95; at 10 as long as nobody knows how many rows will come."""
    return 10 if not expected else 10 + min(85, 85 * seen // expected)

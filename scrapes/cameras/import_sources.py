"""The two kinds of files that observations come in, with one face towards the import."""

import csv
import gzip
import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any, Protocol

from scrapes.cameras.camtrap_deployments import DeploymentRow
from scrapes.cameras.camtrap_dp import Survey, observations, open_camtrap_dp, survey
from scrapes.cameras.camtrap_lives import CameraLives
from scrapes.cameras.column_mapping import ColumnMapping
from scrapes.cameras.observation_csv import observation_batches
from scrapes.cameras.observation_rows import (
    Account,
    ImportRefused,
    ObservationColumns,
    Reconciliation,
)
from scrapes.cameras.package_files import DESCRIPTION
from scrapes.cameras.settings import ImportSettings
from scrapes.cameras.tables import UNREADABLE

CHUNK = 1 << 20


class ObservationFile(Protocol):
    """A file that was recognised; reading it again gives the same rows."""

    @property
    def deployments(self) -> Mapping[str, DeploymentRow]:
        """Deployments that the file itself describes, by its names for them."""

    @property
    def lives(self) -> CameraLives | None:
        """What it tells of its cameras' outages and signs of life, if it is one of our own."""

    @property
    def accounts(self) -> tuple[Reconciliation, ...]:
        """Accounts of its other tables, that of the deployments first."""

    @property
    def rows_expected(self) -> int | None:
        """About how many rows will come, where that is known."""

    def digest(self) -> "hashlib._Hash":
        """Of all that is read from it."""

    def batches(self, account: Account) -> Iterator[ObservationColumns]:
        """The rows to count; what the caller does not take it tells ``account``."""

    def reconciled(self, account: Account) -> Reconciliation:
        """Every row of the observations, once ``account`` has seen all batches."""


class PackageFile:
    """A Camtrap DP package. Reads its observations once before any is taken (``survey``)."""

    def __init__(self, place: Path, *, settings: ImportSettings) -> None:
        self._package = open_camtrap_dp(place, settings=settings)
        self._settings = settings
        self._survey: Survey = survey(self._package, strict=False)

    @property
    def deployments(self) -> Mapping[str, DeploymentRow]:
        return self._package.deployments

    @property
    def accounts(self) -> tuple[Reconciliation, ...]:
        lives = self._package.lives
        return (*self._survey.accounts[:1], *(lives.accounts if lives else ()))

    @property
    def lives(self) -> CameraLives | None:
        return self._package.lives

    @property
    def rows_expected(self) -> int | None:
        return self._survey.accounts[1].taken

    def digest(self) -> "hashlib._Hash":
        digest = hashlib.sha256()
        tables = self._package.tables
        read = (tables["deployments"].path, tables["observations"].path, *self._package.own_paths)
        for path in (DESCRIPTION, *read):
            with self._package.files.opened(path, settings=self._settings) as text:
                while chunk := text.buffer.read(CHUNK):
                    digest.update(chunk)
            digest.update(b"\x00")
        return digest

    def batches(self, _account: Account) -> Iterator[ObservationColumns]:
        return observations(self._package, self._survey)

    def reconciled(self, account: Account) -> Reconciliation:
        return with_more_skipped(self._survey.accounts[1], account.close(), self._settings)


class CsvFile:
    """A table of anybody's making, by a mapping of its columns."""

    deployments: Mapping[str, DeploymentRow] = {}
    lives: CameraLives | None = None
    accounts: tuple[Reconciliation, ...] = ()

    def __init__(self, place: Path, *, mapping: ColumnMapping, settings: ImportSettings) -> None:
        self._place, self._mapping, self._settings = place, mapping, settings
        self._lines: int | None = None

    @property
    def rows_expected(self) -> int | None:
        return self._lines

    def digest(self) -> "hashlib._Hash":
        digest = hashlib.sha256(repr(self._mapping).encode())
        lines = 0
        try:
            with self._place.open("rb") as content:
                while chunk := content.read(CHUNK):
                    digest.update(chunk)
                    lines += chunk.count(b"\n")
        except OSError as error:
            raise ImportRefused("file_missing", "The file cannot be opened.") from error
        self._lines = None if self._place.suffix == ".gz" else lines
        return digest

    def batches(self, account: Account) -> Iterator[ObservationColumns]:
        return observation_batches(
            self._place,
            mapping=self._mapping,
            deployments=None,
            settings=self._settings,
            account=account,
        )

    def reconciled(self, account: Account) -> Reconciliation:
        return account.close()


OPTIONAL_COLUMNS = (
    "observation_id",
    "kind",
    "species",
    "count",
    "sex",
    "life_stage",
    "individual",
    "light",
)


def column_mapping(
    place: Path, *, columns: Mapping[str, Any] | None, zone: str | None
) -> ColumnMapping:
    """What somebody says of a table's columns; without that, our own column names are meant.

    Our own: ``instant`` and ``deployment``, and those of :data:`OPTIONAL_COLUMNS` in the header.
    Raises :class:`ImportRefused` as :func:`stated_mapping` does.
    """
    return stated_mapping(_own_columns(place) if columns is None else columns, zone=zone)


def stated_mapping(columns: Mapping[str, Any], *, zone: str | None) -> ColumnMapping:
    """A mapping from JSON values; raises :class:`ImportRefused` for words that mean nothing."""
    known = {one.name for one in fields(ColumnMapping)}
    if strange := sorted(set(columns) - known):
        raise ImportRefused(
            "mapping_invalid",
            f"A mapping knows nothing named {', '.join(strange)}; it knows "
            f"{', '.join(sorted(known))}.",
        )
    if missing := sorted({"instant", "deployment"} - set(columns)):
        raise ImportRefused("mapping_invalid", f"A mapping must say {' and '.join(missing)}.")
    for name, value in columns.items():
        wants = Mapping if name in {"kinds", "sexes", "life_stages", "lights"} else str
        if value is not None and not isinstance(value, wants):
            raise ImportRefused("mapping_invalid", f"{name} of a mapping is not what it must be.")
    return ColumnMapping(**{**columns, **({"zone": zone} if zone else {})})


def _own_columns(place: Path) -> dict[str, str]:
    opened = gzip.open if place.suffix == ".gz" else open
    try:
        with opened(place, "rt", encoding="utf-8-sig", newline="") as text:
            header = next(csv.reader([text.readline(1 << 16)]), [])
    except UNREADABLE as error:
        raise ImportRefused("file_damaged", "The file's header cannot be read.") from error
    optional = {name: name for name in OPTIONAL_COLUMNS if name in header}
    return {"instant": "instant", "deployment": "deployment", **optional}


def with_more_skipped(
    account: Reconciliation, more: Reconciliation, settings: ImportSettings
) -> Reconciliation:
    """One account of a table out of what its reader skipped and what was skipped afterwards."""
    counts = dict(account.skipped_by_code)
    for code, count in more.skipped_by_code.items():
        counts[code] = counts.get(code, 0) + count
    lines = sorted((*account.skipped, *more.skipped), key=lambda one: one.line)
    return replace(
        account,
        taken=account.taken - more.skipped_count,
        skipped_by_code=counts,
        skipped=tuple(lines[: settings.skipped_lines_listed]),
    )

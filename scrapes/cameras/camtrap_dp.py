"""Reading a Camtrap DP 1.0.x package (Biodiversity Information Standards, TDWG): folder or zip.

The rule that matters: a package may hold the same animals twice, by media and by event, and the
two are never summed. For each deployment rows of event level are counted where there are any,
rows of media level elsewhere; the others are set aside and accounted for. Blanks, people and
vehicles keep their kind.

Lenient: columns in any order, unknown columns, ``NA``, ``NaN`` and ``nan`` as missing in every
1.0.x. Not followed: keys from observations to media (a row's media never changes a count).
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from scrapes.cameras.camtrap_deployments import DeploymentRow, read_deployments
from scrapes.cameras.camtrap_lives import CameraLives, read_lives
from scrapes.cameras.camtrap_rows import (
    MEDIA_REQUIRED,
    OBSERVATIONS_REQUIRED,
    TriggerColumns,
    observation_columns,
    trigger_columns,
)
from scrapes.cameras.camtrap_terms import ID_PREFIX, ID_PREFIX_VALUE
from scrapes.cameras.observation_rows import (
    Account,
    ImportRefused,
    ObservationColumns,
    Reconciliation,
    RowsRefused,
    joined,
    shown,
)
from scrapes.cameras.package_files import (
    PackageFiles,
    checked_path,
    find_package,
    read_description,
)
from scrapes.cameras.seen_keys import SeenKeys
from scrapes.cameras.settings import ImportSettings
from scrapes.cameras.tables import batches

TABLES = ("deployments", "media", "observations")


@dataclass(frozen=True, kw_only=True)
class TablePlace:
    path: str
    delimiter: str


@dataclass(frozen=True, kw_only=True)
class CamtrapPackage:
    """A package whose description and deployments were read; the long tables are read in batches.

    ``deployment_account`` says which deployments were not taken. ``lives`` is what a package of
    our own tells of its cameras beside the standard; None for any other package.
    """

    files: PackageFiles
    settings: ImportSettings
    version: str
    tables: Mapping[str, TablePlace]
    deployments: Mapping[str, DeploymentRow]
    deployment_account: Reconciliation
    lives: CameraLives | None = None
    ids_prefixed: bool = False

    @property
    def own_paths(self) -> tuple[str, ...]:
        return () if self.lives is None else self.lives.paths


@dataclass(frozen=True, kw_only=True)
class Survey:
    """What a first reading of the observations found, before anything is taken.

    ``by_event`` are the deployments counted by events.
    """

    by_event: frozenset[str]
    accounts: tuple[Reconciliation, ...]


@dataclass(frozen=True, kw_only=True)
class CamtrapReading:
    """A whole package in memory."""

    version: str
    deployments: tuple[DeploymentRow, ...]
    observations: ObservationColumns
    accounts: tuple[Reconciliation, ...] = field(default=())


def open_camtrap_dp(place: Path, *, settings: ImportSettings) -> CamtrapPackage:
    """Recognise a package and read its deployments.

    Raises :class:`ImportRefused`: not a package, a version other than 1.0.x (by name), a table
    missing, outside the package, too large or unreadable.
    """
    files = find_package(place, settings=settings)
    description = read_description(files, settings=settings)
    version = checked_version(description)
    tables = _tables(description)
    account = Account("deployments", lines_listed=settings.skipped_lines_listed)
    deployments = tables["deployments"]
    with files.opened(deployments.path, settings=settings) as text:
        rows = read_deployments(
            text, delimiter=deployments.delimiter, account=account, settings=settings
        )
    return CamtrapPackage(
        files=files,
        settings=settings,
        version=version,
        tables=tables,
        deployments=rows,
        deployment_account=account.close(),
        lives=read_lives(files, description, deployments=rows, settings=settings),
        ids_prefixed=description.get(ID_PREFIX) == ID_PREFIX_VALUE,
    )


def survey(package: CamtrapPackage, *, strict: bool) -> Survey:
    """Read all observations once, keep none.

    ``strict`` is all or nothing: raises :class:`RowsRefused` with every account when a deployment
    or an observation cannot be taken. Raises :class:`ImportRefused` for an unreadable table.
    """
    account = Account("observations", lines_listed=package.settings.skipped_lines_listed)
    by_event: set[str] = set()
    by_media: dict[str, int] = {}
    for rows in every_observation(package, account):
        by_event.update(rows.deployment_id[rows.event_level].tolist())
        names, counts = np.unique(
            rows.deployment_id[~rows.event_level].astype(str), return_counts=True
        )
        for name, count in zip(names.tolist(), counts.tolist(), strict=True):
            by_media[name] = by_media.get(name, 0) + count
    account.set_aside(sum(by_media.get(name, 0) for name in by_event))
    accounts = (package.deployment_account, account.close())
    if strict and any(one.skipped_count for one in accounts):
        raise RowsRefused(accounts)
    return Survey(by_event=frozenset(by_event), accounts=accounts)


def observations(package: CamtrapPackage, found: Survey) -> Iterator[ObservationColumns]:
    """The rows to count, in batches: one level for each deployment."""
    account = Account("observations", lines_listed=1)
    by_event = found.by_event
    for rows in every_observation(package, account):
        counted_by_event = np.fromiter(
            (name in by_event for name in rows.deployment_id), dtype=bool, count=len(rows)
        )
        yield rows.taken(rows.event_level == counted_by_event)


def every_observation(package: CamtrapPackage, account: Account) -> Iterator[ObservationColumns]:
    """Sound rows of both levels, in batches and in one reading.

    For a caller that settles the level afterwards, inside its own transaction; never to be summed
    as they come.
    """
    place = package.tables["observations"]
    seen = SeenKeys()
    with package.files.opened(place.path, settings=package.settings) as text:
        for batch in batches(
            text,
            table="observations",
            required=OBSERVATIONS_REQUIRED,
            account=account,
            settings=package.settings,
            delimiter=place.delimiter,
        ):
            yield observation_columns(
                batch,
                deployments=package.deployments,
                seen=seen,
                account=account,
                ids_prefixed=package.ids_prefixed,
            )


def triggers(package: CamtrapPackage, account: Account) -> Iterator[TriggerColumns]:
    """Every picture's deployment and instant, in batches: what camera health is judged by."""
    place = package.tables["media"]
    with package.files.opened(place.path, settings=package.settings) as text:
        for batch in batches(
            text,
            table="media",
            required=MEDIA_REQUIRED,
            account=account,
            settings=package.settings,
            delimiter=place.delimiter,
        ):
            yield trigger_columns(batch, deployments=package.deployments, account=account)


def read_camtrap_dp(
    place: Path, *, settings: ImportSettings, strict: bool = True
) -> CamtrapReading:
    """A whole package at once, for files that fit in memory; raises as its steps do."""
    package = open_camtrap_dp(place, settings=settings)
    found = survey(package, strict=strict)
    return CamtrapReading(
        version=package.version,
        deployments=tuple(package.deployments.values()),
        observations=joined(observations(package, found)),
        accounts=found.accounts,
    )


_VERSION = re.compile(r"camtrap-dp/v?(\d+(?:\.\d+)*(?:-[0-9A-Za-z.]+)?)(?:/|$)")


def checked_version(description: Mapping[str, Any]) -> str:
    """The version named in ``profile``; raises :class:`ImportRefused` unless it is 1.0.x."""
    profile = description.get("profile")
    match = _VERSION.search(profile) if isinstance(profile, str) else None
    if match is None:
        raise ImportRefused(
            "version_unknown", "The package's profile names no version of Camtrap DP."
        )
    version = match[1]
    if re.fullmatch(r"1\.0(\.\d+)?", version):
        return version
    if version.startswith("0.") or (version.startswith("1.0") and "-" in version):
        raise ImportRefused(
            "version_too_old",
            f"The package is Camtrap DP {shown(version)}, older than 1.0, whose tables differ. "
            "Export it again as 1.0.",
        )
    raise ImportRefused(
        "version_too_new",
        f"The package is Camtrap DP {shown(version)}; versions 1.0.x are read.",
    )


def _tables(description: Mapping[str, Any]) -> dict[str, TablePlace]:
    resources = description.get("resources")
    if not isinstance(resources, Sequence) or isinstance(resources, str):
        raise ImportRefused("tables_missing", "The package lists no tables.")
    by_name: dict[str, Mapping[str, Any]] = {}
    for resource in resources:
        if isinstance(resource, Mapping) and resource.get("name") in TABLES:
            by_name.setdefault(str(resource["name"]), resource)
    missing = [name for name in TABLES if name not in by_name]
    if missing:
        raise ImportRefused("tables_missing", f"The package has no table {', '.join(missing)}.")
    return {name: _place_of(name, resource) for name, resource in by_name.items()}


def _place_of(name: str, resource: Mapping[str, Any]) -> TablePlace:
    if "path" not in resource:
        raise ImportRefused("path_invalid", f"The table {name} has no path.")
    path = checked_path(resource["path"])
    if not path.lower().endswith((".csv", ".csv.gz")):
        raise ImportRefused("format_unknown", f"{name}: only CSV is read, plain or gzipped.")
    encoding = str(resource.get("encoding", "utf-8")).lower().replace("_", "-")
    if encoding not in {"utf-8", "utf8"}:
        raise ImportRefused("encoding_invalid", f"{name}: the standard asks for UTF-8.")
    dialect = resource.get("dialect")
    delimiter = dialect.get("delimiter", ",") if isinstance(dialect, Mapping) else ","
    if not isinstance(delimiter, str) or delimiter not in {",", ";", "\t", "|"}:
        raise ImportRefused("format_unknown", f"{name}: cells parted by {shown(delimiter)}.")
    return TablePlace(path=path, delimiter=delimiter)

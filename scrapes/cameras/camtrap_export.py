"""Write what cameras of a property saw as a Camtrap DP 1.0.2 package, row by row.

What the standard has no place for goes into two tables and a few tags of our own, so that reading
the package back gives the same visits and effort; what is lost all the same is listed.
"""

import csv
import json
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from properties.land.models import Property
from scrapes.cameras.camtrap_description import description_of
from scrapes.cameras.camtrap_terms import (
    DEPLOYMENT_COLUMNS,
    MEDIA_COLUMNS,
    OBSERVATION_COLUMNS,
    OUTAGE_FIELDS,
    OUTAGES,
    RUNNING,
    SCRAPE_TAG,
    SENDING,
    STATUS_FIELDS,
    STATUSES,
)
from scrapes.cameras.export_places import Positions
from scrapes.cameras.export_rows import (
    DeploymentOut,
    ObservationValues,
    deployments_out,
    individuals_told,
    keys_repeat,
    observations_out,
    species_seen,
)
from scrapes.cameras.export_unsaid import Unsaid, unsaid_of
from scrapes.cameras.package_files import DESCRIPTION

Report = Callable[[int, str], None]


class NothingToExport(ValueError):
    """No camera of the property has told anything yet, and a package must have a deployment."""


@dataclass(frozen=True, kw_only=True)
class PackageWritten:
    """Rows of each table, deployments ``left_out`` by name, and what could not be said."""

    deployments: int
    media: int
    observations: int
    outages: int
    statuses: int
    left_out: tuple[str, ...]
    unsaid: tuple[Unsaid, ...]


def write_package(
    out: IO[bytes],
    *,
    land: Property,
    now: datetime,
    positions: Positions,
    report: Report,
) -> PackageWritten:
    """The package as a zip archive; memory does not grow with the observations.

    Raises :class:`NothingToExport`.
    """
    report(1, "reading deployments")
    every = deployments_out(land, now=now)
    told = tuple(one for one in every if not one.runs or one.known_until is not None)
    if not told:
        raise NothingToExport("No camera of this property has told anything yet.")
    prefixed, species = keys_repeat(told), species_seen(told, now=now)
    unsaid = unsaid_of(every, told, species=species, positions=positions)
    with tempfile.TemporaryDirectory() as folder:
        tables = Path(folder)
        _write_table(tables / "deployments.csv", DEPLOYMENT_COLUMNS, _deployments(told, positions))
        media = _write_pictures(tables, told, prefixed=prefixed, now=now, report=report)
        outages = _write_table(tables / f"{OUTAGES}.csv", OUTAGE_FIELDS, _outages(told))
        statuses = _write_table(tables / f"{STATUSES}.csv", STATUS_FIELDS, _statuses(told))
        description = description_of(
            land,
            told,
            now=now,
            positions=positions,
            species=species,
            individuals=individuals_told(told),
            ids_prefixed=prefixed,
            unsaid=unsaid,
        )
        (tables / DESCRIPTION).write_text(
            json.dumps(description, indent=2, ensure_ascii=False), encoding="utf-8"
        )
        report(90, "packing")
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for place in sorted(tables.iterdir()):
                archive.write(place, place.name)
    return PackageWritten(
        deployments=len(told),
        media=media,
        observations=sum(one.observations for one in told),
        outages=outages,
        statuses=statuses,
        left_out=tuple(one.name for one in every if one not in told),
        unsaid=unsaid,
    )


def _write_table(place: Path, columns: Iterable[str], rows: Iterable[Sequence[Any]]) -> int:
    with _table(place, columns) as write:
        return sum(1 for _row in map(write, rows))


@contextmanager
def _table(place: Path, columns: Iterable[str]) -> Iterator[Callable[[Sequence[Any]], Any]]:
    with place.open("w", encoding="utf-8", newline="") as text:
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(columns)
        yield writer.writerow


def _write_pictures(
    tables: Path,
    told: Sequence[DeploymentOut],
    *,
    prefixed: bool,
    now: datetime,
    report: Report,
) -> int:
    """Media and observations, both in one reading; returns the number of media."""
    media = written = 0
    total = sum(one.observations for one in told)
    with (
        _table(tables / "media.csv", MEDIA_COLUMNS) as write_media,
        _table(tables / "observations.csv", OBSERVATION_COLUMNS) as write_observation,
    ):
        for one in told:
            before = None
            for row in observations_out(one.row, now=now):
                at = instant(row.observed_at)
                picture = "" if one.by_event else f"{one.name}:{at}"
                if picture and at != before:
                    write_media(_medium(one.name, picture, at))
                    media += 1
                before = at
                write_observation(_observation(one, row, at, picture, prefixed))
                written += 1
                if written % 50_000 == 0:
                    report(5 + 80 * written // total, f"{written:,} observations written")
    return media


def _deployments(told: Iterable[DeploymentOut], positions: Positions) -> Iterator[Sequence[Any]]:
    for one in told:
        row = one.row
        longitude, latitude = positions.of(row.longitude, row.latitude)
        cells = {
            "deploymentID": one.name,
            "locationID": row.scrape_id,
            "locationName": one.location,
            "latitude": latitude,
            "longitude": longitude,
            "coordinateUncertainty": positions.uncertainty_m,
            "deploymentStart": instant(row.starts_at),
            "deploymentEnd": instant(end_of(one)),
            "cameraID": one.camera,
            "cameraHeight": row.height_m,
            "cameraHeading": None if row.heading_deg is None else round(row.heading_deg),
            "deploymentTags": " | ".join(_tags(one)),
            "deploymentComments": _comments(one),
        }
        yield [cells.get(column) for column in DEPLOYMENT_COLUMNS]


def end_of(one: DeploymentOut) -> datetime:
    """When it was taken down; of one that runs the last instant known."""
    end = one.row.ends_at or one.known_until
    assert end is not None
    return end


def _tags(one: DeploymentOut) -> Iterator[str]:
    yield f"{SCRAPE_TAG}{one.row.scrape.kind}"
    yield SENDING if one.row.camera.transmits else "camera:card"
    if one.runs:
        yield RUNNING


def _comments(one: DeploymentOut) -> str:
    said = []
    if one.runs:
        said.append("Still hanging; the end is the last instant known.")
    elif one.known_until is None:
        said.append("Nothing was ever read of it.")
    elif one.known_until < end_of(one):
        said.append(f"Known only up to {instant(one.known_until)}.")
    if one.outages:
        said.append(f"Did not work in {len(one.outages)} times named in the table {OUTAGES}.")
    return " ".join(said)


def _medium(deployment: str, identity: str, at: str) -> Sequence[Any]:
    cells = {
        "mediaID": identity,
        "deploymentID": deployment,
        "timestamp": at,
        "filePath": "not-kept/" + identity.replace("..", "_"),
        "filePublic": "false",
        "fileMediatype": "image/unknown",
    }
    return [cells.get(column) for column in MEDIA_COLUMNS]


def _observation(
    one: DeploymentOut, row: ObservationValues, at: str, picture: str, prefixed: bool
) -> Sequence[Any]:
    # Positions of OBSERVATION_COLUMNS; written out, since a million rows pass here.
    return (
        f"{one.name}:{row.source_key}" if prefixed else row.source_key,
        one.name,
        picture,
        None,
        at,
        at if row.ended_at is None else instant(row.ended_at),
        "media" if picture else "event",
        row.kind,
        None,
        row.species,
        row.number,
        row.life_stage,
        row.sex,
        None,
        row.individual,
        *_UNSTATED,
    )


_UNSTATED = (None,) * (len(OBSERVATION_COLUMNS) - 15)


def _outages(told: Iterable[DeploymentOut]) -> Iterator[Sequence[Any]]:
    for one in told:
        for row in one.outages:
            end = None if row.ends_at is None else instant(row.ends_at)
            estimated = "true" if row.estimated else "false"
            yield one.name, row.kind, instant(row.starts_at), end, estimated, row.notes


def _statuses(told: Iterable[DeploymentOut]) -> Iterator[Sequence[Any]]:
    for one in told:
        for row in one.statuses:
            pulled = "true" if row.card_pulled else "false"
            at = instant(row.reported_at)
            yield one.name, at, pulled, row.battery_pct, row.card_used_pct


def instant(at: datetime) -> str:
    """UTC to the second, as the standard writes it."""
    return at.astimezone(UTC).isoformat()[:19] + "Z"

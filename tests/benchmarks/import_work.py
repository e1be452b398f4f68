"""One import of many invented observations on a database of its own; figures as JSON.

``python -m tests.benchmarks.import_work FORM ROWS`` with COOP_DATABASE_URL naming a database that
may be thrown away. ``FORM`` is csv, package, or bare: the same rows by one executemany in one
transaction, without reading any file.
"""

import csv
import json
import resource
import sys
import tempfile
import time
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

SINCE = datetime(2025, 1, 1, tzinfo=UTC)
CAMERAS = 20
KINDS = ("animal", "animal", "animal", "blank", "human")
SPECIES = {"animal": "Odocoileus virginianus"}
SEXES = ("male", "female", "")
NAMES = ("", "", "", "", "Wide Eight", "Split Ear")


def main(form: str, rows: int) -> None:
    _start_django()
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        deployments = _cameras()
        work = {"csv": _import_csv, "package": _import_package, "bare": _bare}[form]
        seconds, stored = work(place, deployments, rows)
    if stored != rows:
        raise SystemExit(f"{stored} of {rows} rows were stored")
    peak_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({"seconds": seconds, "peak_mib": peak_mib}))


def observations(rows: int, *, part: int = 50_000) -> Any:
    """Invented rows, seeded, some at a time: number, camera, seconds, kind, sex, individual."""
    random = np.random.default_rng(5)
    for first in range(0, rows, part):
        count = min(part, rows - first)
        yield zip(
            range(first, first + count),
            random.integers(0, CAMERAS, count).tolist(),
            np.sort(random.integers(0, 300 * 86_400, count)).tolist(),
            random.integers(0, len(KINDS), count).tolist(),
            random.integers(0, len(SEXES), count).tolist(),
            random.integers(0, len(NAMES), count).tolist(),
            strict=True,
        )


def _start_django() -> None:
    import django
    from django.conf import settings
    from django.core.management import call_command

    django.setup()
    # Tables as the models have them now; nothing here needs the history of how they came about.
    settings.MIGRATION_MODULES = {one.label: None for one in django.apps.apps.get_app_configs()}
    call_command("migrate", run_syncdb=True, verbosity=0)


def _cameras() -> list[Any]:
    from coop.access.actors import system_actor
    from properties.land.models import Cooperative
    from properties.land.services import create_property
    from scrapes.cameras.models import CameraUnit, Deployment
    from scrapes.sites.models import Scrape

    land = create_property(
        actor=system_actor("bench"),
        cooperative=Cooperative.objects.create(name="Bench"),
        fields={
            "name": "Bench",
            "time_zone": "America/Chicago",
            "boundary": {
                "type": "Polygon",
                "coordinates": [[[-91, 43], [-90.9, 43], [-90.9, 43.1], [-91, 43.1], [-91, 43]]],
            },
        },
        now=SINCE,
    )
    place = {"longitude": land.longitude, "latitude": land.latitude}
    hung = []
    for number in range(CAMERAS):
        scrape = Scrape.objects.create(property=land, name=f"S{number}", kind="mock", **place)
        camera = CameraUnit.objects.create(property=land, name=f"C{number}")
        hung.append(
            Deployment.objects.create(
                camera=camera, scrape=scrape, code=f"D{number}", starts_at=SINCE, **place
            )
        )
    return hung


def _import_csv(place: Path, hung: list[Any], rows: int) -> tuple[float, int]:
    file = place / "rows.csv"
    with file.open("w", newline="") as text:
        writer = csv.writer(text)
        writer.writerow(
            ("instant", "deployment", "observation_id", "kind", "species", "sex", "individual")
        )
        for part in observations(rows):
            writer.writerows(
                (
                    (SINCE + timedelta(seconds=at)).strftime("%Y-%m-%dT%H:%M:%SZ"),
                    f"D{camera}",
                    f"row-{number}",
                    KINDS[kind],
                    SPECIES.get(KINDS[kind], ""),
                    SEXES[sex],
                    NAMES[name],
                )
                for number, camera, at, kind, sex, name in part
            )
    return _imported(file, hung, "csv")


def _import_package(place: Path, hung: list[Any], rows: int) -> tuple[float, int]:
    from scrapes.cameras.camtrap_terms import ADDRESS, DEPLOYMENT_COLUMNS, OBSERVATION_COLUMNS

    description = {
        "profile": f"{ADDRESS}camtrap-dp-profile.json",
        "resources": [
            {"name": name, "path": f"{name}.csv", "profile": "tabular-data-resource"}
            for name in ("deployments", "media", "observations")
        ],
    }
    (place / "datapackage.json").write_text(json.dumps(description))
    (place / "media.csv").write_text("mediaID,deploymentID,timestamp\n")
    with (place / "deployments.csv").open("w", newline="") as text:
        writer = csv.DictWriter(text, DEPLOYMENT_COLUMNS)
        writer.writeheader()
        for number in range(CAMERAS):
            writer.writerow(
                {
                    "deploymentID": f"D{number}",
                    "latitude": 43.05,
                    "longitude": -90.95,
                    "deploymentStart": "2025-01-01T00:00:00Z",
                    "deploymentEnd": "2025-12-01T00:00:00Z",
                }
            )
    with (place / "observations.csv").open("w", newline="") as text:
        writer = csv.writer(text)
        writer.writerow(OBSERVATION_COLUMNS)
        empty = ("",) * (len(OBSERVATION_COLUMNS) - 15)
        for part in observations(rows):
            for number, camera, second, kind, sex, name in part:
                at = (SINCE + timedelta(seconds=second)).strftime("%Y-%m-%dT%H:%M:%SZ")
                what = KINDS[kind]
                writer.writerow(
                    (
                        *(f"row-{number}", f"D{camera}", "", "", at, at, "event", what, ""),
                        *(SPECIES.get(what, ""), "", "", SEXES[sex], "", NAMES[name], *empty),
                    )
                )
    return _imported(place, hung, "camtrap-dp")


def _imported(place: Path, hung: list[Any], form: str) -> tuple[float, int]:
    from coop.access.actors import system_actor
    from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations

    land = hung[0].scrape.property
    request = ImportRequest(place=place, file_name=place.name, format=ImportFormat(form))
    start = time.process_time()
    result = import_observations(actor=system_actor("bench"), land=land, request=request, now=SINCE)
    return time.process_time() - start, result.batch.rows_taken


def _bare(_place: Path, hung: list[Any], rows: int) -> tuple[float, int]:
    """Rows ready in memory as the database stores them; only storing them is measured."""
    import sqlite3

    from django.db import connection

    from scrapes.cameras.models import Observation, ObservationImport

    batch = ObservationImport.objects.create(
        property=hung[0].scrape.property,
        source="bare",
        file_name="bare",
        digest="bare",
        imported_at=SINCE,
        rows_read=rows,
        rows_taken=rows,
    )
    keys = [one.id.hex for one in hung]
    ready = [
        (
            keys[camera],
            uuid.UUID(str(batch.id)).hex,
            f"row-{number}",
            (SINCE + timedelta(seconds=at)).strftime("%Y-%m-%d %H:%M:%S"),
            None,
            KINDS[kind],
            SPECIES.get(KINDS[kind], ""),
            None,
            SEXES[sex],
            "",
            NAMES[name],
            0,
        )
        for part in observations(rows)
        for number, camera, at, kind, sex, name in part
    ]
    connection.close()
    plain = sqlite3.connect(connection.settings_dict["NAME"])
    plain.execute("PRAGMA journal_mode=WAL")
    start = time.process_time()
    with plain:
        plain.executemany(
            f"INSERT INTO {Observation._meta.db_table} (deployment_id, batch_id, source_key, "
            "observed_at, ended_at, kind, species, count, sex, life_stage, individual, "
            "event_level) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            ready,
        )
    seconds = time.process_time() - start
    stored = plain.execute(f"SELECT count(*) FROM {Observation._meta.db_table}").fetchone()[0]
    return seconds, stored


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))

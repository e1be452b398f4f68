"""Take observations in: all or nothing unless asked otherwise, each row once, none unaccounted."""

import gc
import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.outbox import services as outbox
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from scrapes.cameras.bulk_insert import room_for_indexes
from scrapes.cameras.hanging_services import Created, WhenMissing
from scrapes.cameras.import_sources import (
    CsvFile,
    ObservationFile,
    PackageFile,
    column_mapping,
    with_more_skipped,
)
from scrapes.cameras.intake import Intake, Report
from scrapes.cameras.models import ObservationImport, ObservationSource
from scrapes.cameras.observation_rows import (
    Account,
    ImportRefused,
    Reconciliation,
    RowsRefused,
)
from scrapes.cameras.placement_services import known_placements, package_placements
from scrapes.cameras.placements import IntakeSettings, Placements
from scrapes.cameras.settings import ImportSettings

OBSERVATIONS_IMPORTED = "observations.imported"


class ImportFormat(StrEnum):
    CAMTRAP_DP = "camtrap-dp"
    CSV = "csv"


@dataclass(frozen=True, kw_only=True)
class ImportRequest:
    """What is to be read and how.

    ``columns`` says what a CSV's columns mean (the fields of ``ColumnMapping``; None: as kept for
    the ``source``, or else they have our own names), ``zone`` the clock of times without offset.
    ``deployments`` names a deployment of ours for the file's name of it. ``strict`` is all or
    nothing. ``create_missing`` hangs cameras that only a package knows, at the nearest scrape;
    with ``create_scrapes`` at the scrape named like the location, mapped where there is none.
    """

    place: Path
    file_name: str
    format: ImportFormat
    source: str = ""
    columns: Mapping[str, Any] | None = None
    zone: str | None = None
    deployments: Mapping[str, UUID] = field(default_factory=dict)
    strict: bool = True
    create_missing: bool = False
    create_scrapes: bool = False


@dataclass(frozen=True, kw_only=True)
class ImportResult:
    """What came of it. ``is_new`` is False where the same content was imported before."""

    batch: ObservationImport
    is_new: bool
    accounts: tuple[Reconciliation, ...] = ()
    created: Created = field(default_factory=Created)


@contextmanager
def cycles_left_alone() -> Iterator[None]:
    """No search for reference cycles meanwhile: it would walk all objects of the application again
    and again while millions of cells come and go, none of them in a cycle."""
    searches = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searches:
            gc.enable()


def _silent(_progress_pct: int, _note: str) -> None:
    return


def import_observations(
    *, actor: Actor, land: Property, request: ImportRequest, now: datetime, report: Report = _silent
) -> ImportResult:
    """Read a file and store its observations with an account of every row.

    Raises :class:`ImportRefused` for a file that is not read at all, and, when ``strict`` or where
    nothing is left, :class:`RowsRefused` with the accounts of every row that cannot be taken;
    nothing is stored then. The file is read in batches, so memory does not grow with its rows.
    """
    actor.require(Action.OBSERVATION_WRITE, land.id)
    if request.create_missing or request.create_scrapes:
        actor.require(Action.CAMERA_WRITE, land.id)
    if request.create_scrapes:
        actor.require(Action.SCRAPE_WRITE, land.id)
    layers = setting_layers(land)
    settings = layered_settings.resolve(ImportSettings, *layers)
    with cycles_left_alone():
        return _imported(actor, land, request, settings, now, report)


def _imported(
    actor: Actor,
    land: Property,
    request: ImportRequest,
    settings: ImportSettings,
    now: datetime,
    report: Report,
) -> ImportResult:
    report(1, "reading the file")
    file = _recognised(land, request, settings)
    digest = file.digest()
    report(10, "storing observations")
    with transaction.atomic():
        where, created, accounts = _placements(actor, land, request, file, settings, now)
        digest.update(json.dumps(where.described()).encode())
        held = ObservationImport.objects.filter(property=land, digest=digest.hexdigest()).first()
        if held is not None:
            return ImportResult(batch=held, is_new=False)
        batch = ObservationImport.objects.create(
            property=land,
            source=(request.source or request.format)[:40],
            file_name=request.file_name[:200],
            digest=digest.hexdigest(),
            imported_at=now,
            rows_read=0,
            rows_taken=0,
        )
        intake = Intake(batch=batch, where=where, settings=settings)
        with room_for_indexes():
            intake.take(file, report)
        return _finish(actor, batch, intake, request, created, accounts, now)


def _recognised(
    land: Property, request: ImportRequest, settings: ImportSettings
) -> ObservationFile:
    if request.format is ImportFormat.CAMTRAP_DP:
        return PackageFile(request.place, settings=settings)
    if request.create_missing or request.create_scrapes:
        raise ImportRefused(
            "places_missing", "A CSV says nowhere where cameras hang: hang them first."
        )
    columns = request.columns
    if columns is None and request.source:
        kept = ObservationSource.objects.filter(property=land, name=request.source).first()
        columns = kept.columns if kept else None
    mapping = column_mapping(request.place, columns=columns, zone=request.zone)
    return CsvFile(request.place, mapping=mapping, settings=settings)


def _placements(
    actor: Actor,
    land: Property,
    request: ImportRequest,
    file: ObservationFile,
    settings: ImportSettings,
    now: datetime,
) -> tuple[Placements, Created, tuple[Reconciliation, ...]]:
    known = known_placements(land, named=request.deployments)
    if request.format is ImportFormat.CSV:
        return known, Created(), ()
    where, created = package_placements(
        actor=actor,
        land=land,
        described=file.deployments,
        lives=file.lives,
        known=known,
        named=request.deployments,
        missing=WhenMissing(
            hang_cameras=request.create_missing or request.create_scrapes,
            make_scrapes=request.create_scrapes,
        ),
        settings=layered_settings.resolve(IntakeSettings, *setting_layers(land)),
        now=now,
    )
    account = Account("deployments", lines_listed=settings.skipped_lines_listed)
    for name, why in where.unplaced.items():
        account.skip(file.deployments[name].line, why.code, why.reason)
    first, *others = file.accounts
    return where, created, (with_more_skipped(first, account.close(), settings), *others)


def _finish(
    actor: Actor,
    batch: ObservationImport,
    intake: Intake,
    request: ImportRequest,
    created: Created,
    accounts: tuple[Reconciliation, ...],
    now: datetime,
) -> ImportResult:
    assert intake.reconciliation is not None
    account = intake.reconciliation
    accounts = (*accounts, account)
    is_usable = bool(account.taken or account.set_aside or created.deployments)
    if any(one.skipped_count for one in accounts) and (request.strict or not is_usable):
        raise RowsRefused(accounts)
    batch.rows_read = account.read
    batch.rows_taken = account.taken - intake.held
    batch.rows_set_aside = account.set_aside
    batch.rows_held = intake.held
    batch.skipped_by_code = {
        one.table: dict(one.skipped_by_code) for one in accounts if one.skipped_by_code
    }
    batch.skipped = [vars(line) for one in accounts for line in one.skipped]
    batch.outside_times = {
        str(name): {
            "rows": one.rows,
            "first_at": datetime.fromtimestamp(one.first_s, UTC).isoformat(),
            "last_at": datetime.fromtimestamp(one.last_s, UTC).isoformat(),
        }
        for name, one in intake.outside.items()
    }
    batch.daylight_told = {
        str(name): {"rows": told, "at_night": at_night}
        for name, (told, at_night) in intake.daylight.items()
    }
    batch.save()
    audit.record(
        actor=actor,
        action=Action.OBSERVATION_WRITE,
        target=batch,
        now=now,
        property_id=batch.property_id,
    )
    if batch.rows_taken:
        outbox.publish(topic=OBSERVATIONS_IMPORTED, ids={"property": batch.property_id}, now=now)
    return ImportResult(batch=batch, is_new=True, accounts=accounts, created=created)

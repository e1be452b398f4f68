"""Importing observations as a job: the upload is kept, read by a worker, removed in time."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO, Any
from uuid import UUID

from django.core.files.base import File
from django.core.files.storage import default_storage

from coop.access.actors import Actor, person_actor, system_actor
from coop.access.roles import Action
from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.records import new_id
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.property_jobs import property_of
from properties.land.queries import setting_layers
from scrapes.cameras.import_services import (
    ImportFormat,
    ImportRequest,
    ImportResult,
    import_observations,
)
from scrapes.cameras.observation_rows import ImportRefused, Reconciliation, RowsRefused
from scrapes.cameras.placements import IntakeSettings

IMPORT_OBSERVATIONS = "cameras.import_observations"
UPLOADS = "observation-imports"
LINES_IN_RESULT = 100


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(IMPORT_OBSERVATIONS, run_import)


def queue_import(
    *, actor: Actor, land: Property, upload: IO[bytes], request: Mapping[str, Any], now: datetime
) -> JobRun:
    """Keep an upload and queue its import in the caller's name.

    ``request`` holds the fields of :class:`ImportRequest` but ``place``, as JSON values.
    """
    actor.require(Action.OBSERVATION_WRITE, land.id)
    if request.get("create_missing") or request.get("create_scrapes"):
        actor.require(Action.CAMERA_WRITE, land.id)
    if request.get("create_scrapes"):
        actor.require(Action.SCRAPE_WRITE, land.id)
    name = f"{_folder(land)}/{new_id()}{_ending(str(request['file_name']))}"
    kept = default_storage.save(name, File(upload))
    return jobs.enqueue(
        name=IMPORT_OBSERVATIONS,
        scope=str(land.id),
        now=now,
        parameters={
            "property": str(land.id),
            "upload": kept,
            "person": told_person(actor),
            "request": dict(request),
        },
        property_id=land.id,
        requested_by_id=None if actor.is_system else UUID(actor.id),
    )


def run_import(job: registry.JobContext) -> dict[str, Any]:
    """Import an upload. A file that is refused is an answer, not a failure to try again."""
    land = property_of(job)
    remove_old_files(_folder(land), land, but=job.parameters["upload"], now=job.now)
    try:
        result = import_observations(
            actor=actor_of_job(job.parameters["person"], name=IMPORT_OBSERVATIONS),
            land=land,
            request=import_request(
                Path(default_storage.path(job.parameters["upload"])), job.parameters["request"]
            ),
            now=job.now,
            report=job.report,
        )
    except ImportRefused as refused:
        # The last step reported was not finished: the note must not go on saying it.
        job.report(100, f"refused: {refused.code}; nothing was taken")
        return refusal(refused)
    return outcome(result)


def import_request(place: Path, fields: Mapping[str, Any]) -> ImportRequest:
    """An :class:`ImportRequest` from JSON values."""
    named = {name: UUID(str(one)) for name, one in (fields.get("deployments") or {}).items()}
    return ImportRequest(
        **{
            **fields,
            "place": place,
            "format": ImportFormat(fields["format"]),
            "deployments": named,
        }
    )


def outcome(result: ImportResult) -> dict[str, Any]:
    """The result as JSON values: every row read is taken, held, set aside or skipped."""
    batch = result.batch
    return {
        "outcome": "imported" if result.is_new else "held_already",
        "import": str(batch.id),
        "read": batch.rows_read,
        "taken": batch.rows_taken if result.is_new else 0,
        "set_aside": batch.rows_set_aside,
        "held_already": batch.rows_held if result.is_new else batch.rows_taken + batch.rows_held,
        "cameras_created": result.created.cameras,
        "deployments_created": result.created.deployments,
        "scrapes_created": result.created.scrapes,
        "tables": [_account(account) for account in result.accounts],
    }


def refusal(refused: ImportRefused) -> dict[str, Any]:
    """Why nothing was taken, with the rows at fault where rows are."""
    accounts = refused.accounts if isinstance(refused, RowsRefused) else ()
    return {
        "outcome": "refused",
        "code": refused.code,
        "detail": refused.message,
        "taken": 0,
        "tables": [_account(account) for account in accounts],
    }


def _account(account: Reconciliation) -> dict[str, Any]:
    return {
        "table": account.table,
        "read": account.read,
        "set_aside": account.set_aside,
        "skipped": account.skipped_count,
        "skipped_by_code": dict(account.skipped_by_code),
        "lines": [
            {"line": one.line, "code": one.code, "reason": one.reason}
            for one in account.skipped[:LINES_IN_RESULT]
        ],
    }


def told_person(actor: Actor) -> list[str] | None:
    """Whoever asks, as a job's parameter; None for the system."""
    return None if actor.is_system else [actor.id, actor.name]


def actor_of_job(person: list[str] | None, *, name: str) -> Actor:
    """Whoever asked, with the roles they hold now."""
    if person is None:
        return system_actor(name)
    user_id, said_name = person
    return person_actor(UUID(user_id), said_name)


def _ending(file_name: str) -> str:
    """The part of a name by which readers tell packed files; nothing else of it is used."""
    name = file_name.lower()
    return next((end for end in (".csv.gz", ".csv", ".zip") if name.endswith(end)), "")


def _folder(land: Property) -> str:
    return f"{UPLOADS}/{land.id}"


def remove_old_files(folder: str, land: Property, *, but: str, now: datetime) -> None:
    """Remove what was kept longer than the settings allow."""
    settings = layered_settings.resolve(IntakeSettings, *setting_layers(land))
    kept_since = now - timedelta(days=settings.uploads_kept_days)
    for name in default_storage.listdir(folder)[1] if default_storage.exists(folder) else []:
        kept = f"{folder}/{name}"
        if kept != but and default_storage.get_modified_time(kept) < kept_since:
            default_storage.delete(kept)

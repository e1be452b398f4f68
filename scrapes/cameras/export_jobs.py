"""Making a package for download as a job; the file is kept for some days."""

import tempfile
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.records import new_id
from properties.land.models import Property
from properties.land.property_jobs import property_of
from scrapes.cameras.camtrap_export import NothingToExport, PackageWritten
from scrapes.cameras.export_services import export_package, require_export
from scrapes.cameras.jobs import actor_of_job, remove_old_files, told_person

EXPORT_OBSERVATIONS = "cameras.export_observations"
PACKAGES = "observation-exports"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(EXPORT_OBSERVATIONS, run_export, urgency=registry.Urgency.SLOW)


def exports_visible_to(*, actor: Actor) -> QuerySet[JobRun]:
    """Runs that make a package, of properties where the actor may have one."""
    runs = JobRun.objects.filter(name=EXPORT_OBSERVATIONS)
    runs = scoped(runs, actor=actor, action=Action.OBSERVATION_READ, field="property_id")
    return scoped(runs, actor=actor, action=Action.CAMERA_READ, field="property_id")


def queue_export(
    *, actor: Actor, land: Property, precision_deg: float | None, now: datetime
) -> JobRun:
    """Queue the making of a package in the caller's name."""
    require_export(actor, land)
    return jobs.enqueue(
        name=EXPORT_OBSERVATIONS,
        scope=str(land.id),
        now=now,
        parameters={
            "property": str(land.id),
            "person": told_person(actor),
            "precision_deg": precision_deg,
            "file": f"{PACKAGES}/{land.id}/{new_id()}.zip",
        },
        property_id=land.id,
        requested_by_id=None if actor.is_system else UUID(actor.id),
    )


def run_export(job: registry.JobContext) -> dict[str, Any]:
    """Write the package; run again it writes the same file anew."""
    land = property_of(job)
    name = str(job.parameters["file"])
    remove_old_files(f"{PACKAGES}/{land.id}", land, but=name, now=job.now)
    with tempfile.TemporaryFile() as made:
        try:
            written = export_package(
                actor=actor_of_job(job.parameters["person"], name=EXPORT_OBSERVATIONS),
                land=land,
                out=made,
                precision_deg=job.parameters["precision_deg"],
                now=job.now,
                report=job.report,
            )
        except NothingToExport as nothing:
            job.report(100, "refused: nothing_to_export; no file was written")
            return {"outcome": "refused", "code": "nothing_to_export", "detail": str(nothing)}
        default_storage.delete(name)
        default_storage.save(name, File(made))
    return {"outcome": "exported", **told(written)}


def told(written: PackageWritten) -> Mapping[str, Any]:
    """What is in a package and what it cannot say, as JSON values."""
    return {
        "deployments": written.deployments,
        "media": written.media,
        "observations": written.observations,
        "outages": written.outages,
        "camera_statuses": written.statuses,
        "left_out": list(written.left_out),
        "cannot_say": [{"code": one.code, "detail": one.sentence} for one in written.unsaid],
    }

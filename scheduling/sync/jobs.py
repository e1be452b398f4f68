"""The jobs of this room: exports, and forgetting once a day what no copy may rest on."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from coop.audit import services as audit
from coop.jobs import registry
from properties.wind import fit_services
from scheduling.sync import change_services, export_jobs

FORGET = "sync.forget_changes"


def register() -> None:
    """Called once by the floor when it is ready."""
    audit.on_record(change_services.note_write)
    fit_services.on_fits_written(change_services.fits_written)
    export_jobs.register()
    registry.register_job(FORGET, forget_job, urgency=registry.Urgency.SLOW)
    registry.register_schedule(FORGET, forget_due)


def forget_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; running it twice forgets nothing twice."""
    return {
        "changes": change_services.forget_changes(now=job.now),
        "files": export_jobs.remove_old_files(now=job.now),
    }


def forget_due(now: datetime) -> Iterable[registry.DueJob]:
    yield registry.DueJob(name=FORGET, scope="", period=f"{now:%Y-%m-%d}")

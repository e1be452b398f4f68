"""Sits of a property in a file for download: made by a job for whoever asked, kept some days."""

import tempfile
from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import IO, Any
from uuid import UUID

from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db.models import Q, QuerySet

from coop.access.actors import Actor, ActorKind, application_actor, person_actor
from coop.access.roles import Action
from coop.jobs import registry
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.records import new_id
from properties.land.models import Property
from scheduling.sits.models import Sit
from scheduling.sits.queries import sits_visible_to
from scheduling.sits.serializers import SIT_ROWS
from scheduling.sync.export_rows import ExportFormat, export_lines

EXPORT_SITS = "sync.export_sits"
FOLDER = "sit-exports"
KEPT = timedelta(days=7)
CHUNK = 500


def queue_export(
    *,
    actor: Actor,
    land: Property,
    first_on: date,
    last_on: date,
    form: ExportFormat,
    now: datetime,
) -> JobRun:
    """Queue the making of a file of the sits that the actor sees there, days included."""
    actor.require(Action.SIT_READ, land.id)
    is_person = actor.kind is ActorKind.PERSON
    return jobs.enqueue(
        name=EXPORT_SITS,
        scope=_asker(actor),
        now=now,
        parameters={
            "property": str(land.id),
            "first_on": first_on.isoformat(),
            "last_on": last_on.isoformat(),
            "format": form.value,
            "file": f"{FOLDER}/{new_id()}.{form.value}",
            "everybody": actor.may(Action.SIT_MANAGE, land.id),
            "asker": {
                "kind": actor.kind.value,
                "id": actor.id,
                "name": actor.name,
                "actions": sorted(actor.actions or ()),
            },
        },
        property_id=land.id,
        requested_by_id=UUID(actor.id) if is_person else None,
    )


def exports_visible_to(*, actor: Actor) -> QuerySet[JobRun]:
    """One's own, as long as one may still read what is in it."""
    theirs = Q(parameters__everybody=False, property_id__in=actor.properties_for(Action.SIT_READ))
    all_of_it = Q(property_id__in=actor.properties_for(Action.SIT_MANAGE))
    return JobRun.objects.filter(theirs | all_of_it, name=EXPORT_SITS, scope=_asker(actor))


def file_of(run: JobRun, *, now: datetime) -> IO[bytes] | None:
    """The file of a run; None while there is none, and when its days are over."""
    name = str(run.parameters["file"])
    expires_at = expiry_of(run)
    if run.state != JobState.DONE or expires_at is None or expires_at <= now:
        return None
    if not default_storage.exists(name):
        return None
    opened: IO[bytes] = default_storage.open(name)
    return opened


def expiry_of(run: JobRun) -> datetime | None:
    return run.finished_at + KEPT if run.finished_at else None


def run_export(job: registry.JobContext) -> dict[str, Any]:
    """Write the file with what its asker may see now; run again it writes the same anew."""
    asked = job.parameters
    actor = _actor(asked["asker"])
    sits = sits_visible_to(actor=actor).filter(
        property=asked["property"], local_date__range=(asked["first_on"], asked["last_on"])
    )
    if not asked["everybody"]:
        # Whoever has become a manager meanwhile gets what they asked for.
        sits = sits.filter(_own(actor))
    form = ExportFormat(asked["format"])
    total = sits.count()
    with tempfile.TemporaryFile() as made:
        for line in export_lines(
            _rows(sits, actor, job, total), form=form, members=list(SIT_ROWS.members)
        ):
            made.write(line)
        made.seek(0)
        default_storage.delete(asked["file"])
        default_storage.save(asked["file"], File(made))
    return {"sits": total}


def remove_old_files(*, now: datetime) -> int:
    """Delete files whose days are over; returns how many."""
    removed = 0
    for name in default_storage.listdir(FOLDER)[1] if default_storage.exists(FOLDER) else []:
        path = f"{FOLDER}/{name}"
        if default_storage.get_modified_time(path) < now - KEPT:
            default_storage.delete(path)
            removed += 1
    return removed


def _rows(
    sits: QuerySet[Sit], actor: Actor, job: registry.JobContext, total: int
) -> Iterator[Mapping[str, Any]]:
    ordered = SIT_ROWS.read(sits.order_by("local_date", "starts_at", "id"))
    batch: list[Mapping[str, Any]] = []
    done = 0
    for row in ordered.iterator(chunk_size=CHUNK):
        batch.append(row)
        if len(batch) == CHUNK:
            yield from SIT_ROWS.told(batch, actor=actor)
            done, batch = done + CHUNK, []
            job.report(min(99, 100 * done // max(total, 1)), f"{done:,} of {total:,} sits")
    yield from SIT_ROWS.told(batch, actor=actor)


def _own(actor: Actor) -> Q:
    if actor.kind is ActorKind.APPLICATION:
        return Q(outfitter__application=UUID(actor.id))
    return Q(person=actor.person_id) | Q(host=actor.person_id)


def _asker(actor: Actor) -> str:
    return f"{actor.kind}:{actor.id}"


def _actor(asker: Mapping[str, Any]) -> Actor:
    """Whoever asked, with what they may do now."""
    identity, name = UUID(asker["id"]), asker["name"]
    if asker["kind"] == ActorKind.APPLICATION:
        return application_actor(identity, name, [Action(one) for one in asker["actions"]])
    return person_actor(identity, name)

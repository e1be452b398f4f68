"""Rows of a property in a file for download: made by a job for whoever asked, kept some days."""

import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import partial
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
from scheduling.sync.export_kinds import KINDS, ExportKind
from scheduling.sync.export_rows import ExportFormat, Told, export_lines

KEPT = timedelta(days=7)
CHUNK = 500


def register() -> None:
    """Called once by the floor when it is ready."""
    for kind in KINDS:
        registry.register_job(kind.job, partial(run_export, kind), urgency=registry.Urgency.SLOW)


def queue_export(
    *,
    actor: Actor,
    kind: ExportKind,
    land: Property,
    first_on: date,
    last_on: date,
    form: ExportFormat,
    now: datetime,
) -> JobRun:
    """Queue the making of a file of the rows that the actor sees there, days included."""
    actor.require(kind.reads, land.id)
    is_person = actor.kind is ActorKind.PERSON
    return jobs.enqueue(
        name=kind.job,
        scope=_asker(actor),
        now=now,
        parameters={
            "property": str(land.id),
            "first_on": first_on.isoformat(),
            "last_on": last_on.isoformat(),
            "format": form.value,
            "file": f"{kind.address}/{new_id()}.{form.value}",
            "asker": {
                "kind": actor.kind.value,
                "id": actor.id,
                "name": actor.name,
                "actions": sorted(actor.actions or ()),
            },
            **{shown: actor.may(action, land.id) for shown, action in kind.shows.items()},
        },
        property_id=land.id,
        requested_by_id=UUID(actor.id) if is_person else None,
    )


def exports_visible_to(*, actor: Actor, kind: ExportKind) -> QuerySet[JobRun]:
    """One's own, as long as one may still read what is in it."""
    readable = Q(property_id__in=actor.properties_for(kind.reads))
    for shown, action in kind.shows.items():
        readable &= Q(**{f"parameters__{shown}": False}) | Q(
            property_id__in=actor.properties_for(action)
        )
    return JobRun.objects.filter(readable, name=kind.job, scope=_asker(actor))


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


def run_export(kind: ExportKind, job: registry.JobContext) -> dict[str, Any]:
    """Write the file with what its asker may see now; run again it writes the same anew."""
    asked = job.parameters
    actor = _actor(kind, asked)
    rows = kind.rows(
        actor,
        Property.objects.get(id=asked["property"]),
        date.fromisoformat(asked["first_on"]),
        date.fromisoformat(asked["last_on"]),
    )
    form = ExportFormat(asked["format"])
    total = rows.count()
    told = _told(kind, rows, actor, job, total)
    with tempfile.TemporaryFile() as made:
        for line in export_lines(told, form=form, members=kind.members()):
            made.write(line)
        made.seek(0)
        default_storage.delete(asked["file"])
        default_storage.save(asked["file"], File(made))
    return {kind.things: total}


def remove_old_files(*, now: datetime) -> int:
    """Delete files whose days are over; returns how many."""
    return sum(_remove_old(kind.address, now) for kind in KINDS)


def _remove_old(folder: str, now: datetime) -> int:
    removed = 0
    for name in default_storage.listdir(folder)[1] if default_storage.exists(folder) else []:
        path = f"{folder}/{name}"
        if default_storage.get_modified_time(path) < now - KEPT:
            default_storage.delete(path)
            removed += 1
    return removed


def _told(
    kind: ExportKind, rows: QuerySet[Any, Any], actor: Actor, job: registry.JobContext, total: int
) -> Iterator[Told]:
    batch: list[Any] = []
    done = 0
    for row in rows.iterator(chunk_size=CHUNK):
        batch.append(row)
        if len(batch) == CHUNK:
            yield from kind.told(batch, actor)
            done, batch = done + CHUNK, []
            note = f"{done:,} of {total:,} {kind.things}"
            job.report(min(99, 100 * done // max(total, 1)), note)
    yield from kind.told(batch, actor)


def _asker(actor: Actor) -> str:
    return f"{actor.kind}:{actor.id}"


def _actor(kind: ExportKind, asked: Mapping[str, Any]) -> Actor:
    """Whoever asked, with what they may do now, but no more of it than when they asked.

    Whoever has become a manager meanwhile gets what they asked for.
    """
    asker = asked["asker"]
    identity, name = UUID(asker["id"]), asker["name"]
    then = {kind.reads, *(action for shown, action in kind.shows.items() if asked[shown])}
    if asker["kind"] == ActorKind.APPLICATION:
        in_scope = then & {Action(one) for one in asker["actions"]}
        return application_actor(identity, name, in_scope)
    return replace(person_actor(identity, name), actions=frozenset(then))

"""Queue, claim and run jobs. The row is the truth; a lost bell only delays it."""

import logging
import random
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.jobs import bell, log, pulse, registry
from coop.jobs.models import JobRun, JobState
from coop.telemetry import context

logger = logging.getLogger(__name__)


class JobCancelled(Exception):
    """Raised inside a handler whose run somebody cancelled, or whose lease passed on."""


def enqueue(
    *,
    name: str,
    now: datetime,
    parameters: Mapping[str, Any] | None = None,
    scope: str = "",
    period: str | None = None,
    property_id: UUID | None = None,
    requested_by_id: UUID | None = None,
) -> JobRun:
    """Write a run and ring after the commit. With a ``period`` the same run is returned twice.

    Raises :class:`LookupError` for a job that no room registered.
    """
    registry.handler_of(name)
    fields = {
        "parameters": dict(parameters or {}),
        "property_id": property_id,
        "requested_by_id": requested_by_id,
        "due_at": now,
    }
    if period is None:
        run, created = JobRun.objects.create(name=name, scope=scope, **fields), True
    else:
        run, created = JobRun.objects.get_or_create(
            name=name, scope=scope, period=period, defaults=fields
        )
    if created:
        asked = f"asked for by {run.asked_for_by}" if run.requested_by_id else "due or asked for"
        log.write(run_id=run.id, text=asked, at=now)
        transaction.on_commit(lambda: bell.ring_job(run.id))
    return run


def enqueue_unless_waiting(
    *,
    name: str,
    scope: str,
    now: datetime,
    parameters: Mapping[str, Any] | None = None,
    property_id: UUID | None = None,
    requested_by_id: UUID | None = None,
) -> JobRun:
    """Queue a run, or return the one of the same name and scope that has not begun yet.

    For work that reads the present state when it runs: many causes, one run. It is theirs who
    first asked for it, also where a fact had queued it before.
    """
    waiting_run = JobRun.objects.filter(name=name, scope=scope, state=JobState.QUEUED).first()
    if waiting_run is None:
        return enqueue(
            name=name,
            scope=scope,
            now=now,
            parameters=parameters,
            property_id=property_id,
            requested_by_id=requested_by_id,
        )
    unasked = JobRun.objects.filter(id=waiting_run.id, requested_by=None)
    if requested_by_id and unasked.update(requested_by_id=requested_by_id):
        waiting_run.refresh_from_db()
        text = f"asked for by {waiting_run.asked_for_by}"
        log.write(run_id=waiting_run.id, text=text, at=now)
    return waiting_run


def enqueue_due(*, now: datetime) -> list[JobRun]:
    """Write the runs that the schedules find due; two schedulers leave one run each."""
    return [
        enqueue(
            name=due.name,
            now=now,
            parameters=due.parameters,
            scope=due.scope,
            period=due.period,
            property_id=due.property_id,
        )
        for due in registry.due_at(now)
    ]


def waiting(*, now: datetime) -> list[UUID]:
    """Ids of runs that are due, or whose worker's lease ran out, oldest first."""
    due = Q(state=JobState.QUEUED, due_at__lte=now)
    abandoned = Q(state=JobState.RUNNING, lease_until__lt=now)
    return list(
        JobRun.objects.filter(due | abandoned).order_by("due_at", "id").values_list("id", flat=True)
    )


@dataclass
class LeasedRun:
    """The context given to a handler while this worker holds the run's lease."""

    run_id: UUID
    lease_token: UUID
    parameters: Mapping[str, Any]
    now: datetime
    remembered: Mapping[str, Any] = field(default_factory=dict)
    last_note: str = ""
    last_report_s: float = field(default_factory=time.monotonic)

    def log(self, text: str) -> None:
        log.write(run_id=self.run_id, text=text, at=timezone.now())

    def report(self, progress_pct: int, note: str = "") -> None:
        self.last_report_s = time.monotonic()
        if not self._hold(progress_pct=min(max(progress_pct, 0), 100), progress_note=note[:300]):
            raise JobCancelled
        if note and note != self.last_note:
            self.last_note = note
            self.log(f"{progress_pct} %: {note}")

    def remember(self, **facts: Any) -> None:
        if not self._hold(result=facts):
            raise JobCancelled

    def renew(self) -> bool:
        """Keep the lease, unless it passed on or the handler has reported nothing for too long."""
        silent_s = time.monotonic() - self.last_report_s
        return silent_s < settings.JOB_LONGEST_SILENCE_SECONDS and self._hold()

    def _hold(self, **told: Any) -> bool:
        held = JobRun.objects.filter(
            id=self.run_id, lease_token=self.lease_token, state=JobState.RUNNING
        )
        return bool(held.update(lease_until=timezone.now() + pulse.LEASE, **told))

    def stop_if_superseded(self) -> None:
        """For work whose answer a later run of the same name and scope makes worthless."""
        own = JobRun.objects.get(id=self.run_id)
        due = Q(state=JobState.QUEUED, due_at__lte=timezone.now()) | Q(state=JobState.RUNNING)
        if not JobRun.objects.filter(
            due, name=own.name, scope=own.scope, created_at__gt=own.created_at
        ).exists():
            return
        JobRun.objects.filter(id=own.id, lease_token=self.lease_token).update(
            state=JobState.CANCELLED,
            finished_at=timezone.now(),
            lease_token=None,
            lease_until=None,
            progress_note="superseded by a later run",
        )
        self.log("cancelled: superseded by a later run")
        raise JobCancelled


def claim(*, run_id: UUID, now: datetime) -> LeasedRun | None:
    """Take the lease of a run by one conditional update; ``None`` when another holds it."""
    token = uuid.uuid4()
    before = JobRun.objects.filter(id=run_id).only("state", "lease_until").first()
    free = Q(state=JobState.QUEUED, due_at__lte=now) | Q(
        state=JobState.RUNNING, lease_until__lt=now
    )
    claimed = JobRun.objects.filter(free, id=run_id).update(
        state=JobState.RUNNING,
        lease_token=token,
        lease_until=now + pulse.LEASE,
        attempts=F("attempts") + 1,
        started_at=now,
        error="",
    )
    if not claimed:
        return None
    run = JobRun.objects.get(id=run_id)
    if before is not None and before.is_stuck(now):
        text = f"its worker gave no sign of life until {before.lease_until:%H:%M:%S} UTC"
        log.write(run_id=run.id, text=text, at=now)
    log.write(run_id=run.id, text=f"attempt {run.attempts} begins", at=now)
    return LeasedRun(
        run_id=run.id,
        lease_token=token,
        parameters=run.parameters,
        now=now,
        remembered=run.result,
    )


def run_job(*, run_id: UUID, now: datetime) -> JobRun | None:
    """Claim and run one job to its end, its failure or its next attempt."""
    leased = claim(run_id=run_id, now=now)
    if leased is None:
        return None
    run = JobRun.objects.get(id=run_id)
    if run.attempts > settings.JOB_MAX_ATTEMPTS:
        return _finish(leased, state=JobState.FAILED, error="given up: its worker kept dying")
    working_on = context.job_id.set(str(run.id))
    try:
        with pulse.keeping(leased.renew):
            result = registry.handler_of(run.name)(leased)
    except JobCancelled:
        return JobRun.objects.get(id=run_id)
    except Exception as error:
        logger.exception("job %s (%s) failed", run.name, run.id)
        return _fail_or_retry(leased, run, error)
    finally:
        context.job_id.reset(working_on)
    return _finish(leased, state=JobState.DONE, result=dict(result), progress_pct=100)


def cancel(*, actor: Actor, run: JobRun, now: datetime) -> JobRun:
    """Cancel a queued or running job; a running handler stops at its next report.

    Whoever asked for a run may cancel it; for other runs it takes the permission to start one.
    """
    if str(run.requested_by_id) != actor.id:
        if run.property_id is None:
            raise PermissionDenied("only whoever asked for this job may cancel it")
        actor.require(Action.JOB_START, run.property_id)
    going = JobRun.objects.filter(id=run.id, state__in=[JobState.QUEUED, JobState.RUNNING])
    if going.update(state=JobState.CANCELLED, finished_at=now, lease_token=None, lease_until=None):
        log.write(run_id=run.id, text=f"cancelled by {actor.name}", at=now)
    run.refresh_from_db()
    return run


def _fail_or_retry(leased: LeasedRun, run: JobRun, error: Exception) -> JobRun:
    sentence = f"{type(error).__name__}: {error}"
    if run.attempts >= settings.JOB_MAX_ATTEMPTS:
        return _finish(leased, state=JobState.FAILED, error=sentence)
    # Jitter keeps runs that failed together from coming back together.
    wait_s = min(600, 5 * 2**run.attempts) * random.uniform(0.5, 1.5)
    return _finish(
        leased,
        state=JobState.QUEUED,
        error=sentence,
        due_at=timezone.now() + timedelta(seconds=wait_s),
        finished_at=None,
    )


def _finish(leased: LeasedRun, **fields: Any) -> JobRun:
    ended_at = timezone.now()
    fields.setdefault("finished_at", ended_at)
    held = JobRun.objects.filter(id=leased.run_id, lease_token=leased.lease_token).update(
        lease_token=None, lease_until=None, **fields
    )
    if held:
        log.write(run_id=leased.run_id, text=_ending(fields), at=ended_at)
    return JobRun.objects.get(id=leased.run_id)


def _ending(fields: Mapping[str, Any]) -> str:
    """What is logged of an end, or of an attempt that is followed by another."""
    if fields["state"] == JobState.QUEUED:
        return f"{fields['error']}; again from {fields['due_at']:%H:%M:%S} UTC"[:300]
    return ": ".join(each for each in (fields["state"].value, fields.get("error", "")) if each)

"""Queue, claim and run jobs. The row is the truth; a lost bell only delays it.

Runs have their turn by urgency, then by age.
"""

import logging
import random
import uuid
from collections.abc import Mapping
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Case, F, Q, When
from django.utils import timezone

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.jobs import bell, log, pulse, registry
from coop.jobs.leased import JobCancelled, LeasedRun
from coop.jobs.models import JobRun, JobState
from coop.jobs.registry import Urgency
from coop.telemetry import context

logger = logging.getLogger(__name__)

LOOKED_AT = 20
"""How many runs a bell tries to claim before it believes others to be at them all. Common
practice, no source."""


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
        asked = log.asked_for_by(run.asked_for_by) if run.requested_by_id else "due or asked for"
        log.write(run_id=run.id, text=asked, at=now)
        transaction.on_commit(lambda: ring_for(run.id, name))
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
        text = log.asked_for_by(waiting_run.asked_for_by)
        log.write(run_id=waiting_run.id, text=text, at=now)
    return waiting_run


def ring_for(run_id: UUID, name: str, *, for_s: float | None = None) -> None:
    """Ring for a run of the job called ``name``, in the queue of its urgency."""
    bell.ring_job(run_id, urgent=_is_urgent(name), for_s=for_s)


def enqueue_due(*, now: datetime, urgent: bool | None = None) -> list[JobRun]:
    """Write the runs that the schedules find due and that nobody wrote before; returns those.

    Two schedulers leave one run each. The urgent come first. ``urgent`` asks only the schedules
    of urgent jobs, or of the others.
    """
    found = registry.due_at(now, urgent=urgent)
    return [
        run
        for _name, of_one_job in groupby(found, key=lambda due: due.name)
        for run in _write_missing(list(of_one_job), now)
    ]


def _write_missing(found: list[registry.DueJob], now: datetime) -> list[JobRun]:
    """Runs of one job. Asked together what stands there: each minute nearly all of it does."""
    standing = JobRun.objects.filter(
        name=found[0].name,
        scope__in={due.scope for due in found},
        period__in={due.period for due in found},
    )
    written = set(standing.values_list("scope", "period"))
    return [
        enqueue(
            name=due.name,
            now=now,
            parameters=due.parameters,
            scope=due.scope,
            period=due.period,
            property_id=due.property_id,
        )
        for due in found
        if (due.scope, due.period) not in written
    ]


def waiting(*, now: datetime, urgent: bool | None = None, at_most: int | None = None) -> list[UUID]:
    """Ids of runs that are due, or whose worker's lease ran out, in their turn.

    The urgent first, then the ordinary, then the slow; in each the oldest first. ``urgent``
    asks for urgent runs only, or for the others only.
    """
    due = Q(state=JobState.QUEUED, due_at__lte=now)
    abandoned = Q(state=JobState.RUNNING, lease_until__lt=now)
    runs = JobRun.objects.filter(due | abandoned)
    if urgent is not None:
        named = Q(name__in=registry.names_of(Urgency.URGENT))
        runs = runs.filter(named if urgent else ~named)
    turn = Case(
        *(
            When(name__in=registry.names_of(urgency), then=urgency.value)
            for urgency in (Urgency.URGENT, Urgency.SLOW)
        ),
        default=Urgency.ORDINARY.value,
    )
    return list(runs.order_by(turn, "due_at", "id").values_list("id", flat=True)[:at_most])


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


def run_next(*, now: datetime, urgent: bool | None = None) -> JobRun | None:
    """Run one job, the first in turn that nobody else holds; ``None`` when there is none."""
    for run_id in waiting(now=now, urgent=urgent, at_most=LOOKED_AT):
        run = run_job(run_id=run_id, now=now)
        if run is not None:
            return run
    return None


def answer_bell(*, run_id: UUID, now: datetime) -> JobRun | None:
    """A bell rang for a run: run one of its lane, the first in turn, which may be another.

    Urgent bells are answered with urgent runs and the others with others, so that each run
    that was rung for is run, and a worker for urgent work takes up nothing slow.
    """
    name = JobRun.objects.filter(id=run_id).values_list("name", flat=True).first()
    return None if name is None else run_next(now=now, urgent=_is_urgent(name))


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
        log.write(run_id=run.id, text=log.cancelled_by(actor.name), at=now)
    run.refresh_from_db()
    return run


def _is_urgent(name: str) -> bool:
    return registry.urgency_of(name) is Urgency.URGENT


def _fail_or_retry(leased: LeasedRun, run: JobRun, error: Exception) -> JobRun:
    sentence = _storable(f"{type(error).__name__}: {error}")
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


def _storable(text: str) -> str:
    """An error may quote what no database stores; then the end of the job has to be kept still."""
    return text.encode(errors="backslashreplace").decode().replace("\0", "\\0")


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

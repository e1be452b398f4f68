"""Job runs that an actor may see: those of their properties, and those they asked for."""

from datetime import datetime

from django.db.models import Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.jobs import registry
from coop.jobs.models import JobRun, JobState
from coop.jobs.registry import Urgency


def jobs_visible_to(*, actor: Actor, action: Action = Action.JOB_READ) -> QuerySet[JobRun]:
    if actor.is_system:
        return JobRun.objects.all()
    mine = Q(requested_by_id=actor.id) if actor.person_id else Q(pk__in=[])
    return JobRun.objects.filter(Q(property_id__in=actor.properties_for(action)) | mine)


def due_runs(*, now: datetime, urgent_only: bool = False) -> QuerySet[JobRun]:
    """Runs that wait for a worker."""
    due = JobRun.objects.filter(state=JobState.QUEUED, due_at__lte=now)
    return due.filter(name__in=registry.names_of(Urgency.URGENT)) if urgent_only else due


def stuck_runs(*, now: datetime) -> QuerySet[JobRun]:
    """Runs whose worker has given no sign of life for longer than its lease.

    The sweep hands each to another worker; one that stays here shows that no worker is at work.
    """
    return JobRun.objects.filter(state=JobState.RUNNING, lease_until__lt=now)

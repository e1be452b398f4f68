"""What a run went through, line by line; bounded, so that no job writes without end."""

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.jobs.models import JobLogLine

LINES_KEPT = 200
"""The newest lines of a run. Common practice, no source."""


def asked_for_by(name: str) -> str:
    return f"asked for by {name}"


def cancelled_by(name: str) -> str:
    return f"cancelled by {name}"


def write(*, run_id: UUID, text: str, at: datetime) -> None:
    """Append a line; the oldest give way once there are more than are kept."""
    JobLogLine.objects.create(run_id=run_id, at=at, text=text[:300])
    kept = lines_of(run_id).order_by("-id").values_list("id", flat=True)
    too_old = list(kept[LINES_KEPT:])
    if too_old:
        JobLogLine.objects.filter(id__in=too_old).delete()


def lines_of(run_id: UUID) -> QuerySet[JobLogLine]:
    """The lines of a run, in the order in which they were written."""
    return JobLogLine.objects.filter(run=run_id).order_by("id")

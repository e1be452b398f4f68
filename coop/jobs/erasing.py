"""Take out of the logs of jobs the name of somebody whose data is erased."""

from collections.abc import Collection
from uuid import UUID

from django.db.models import Q

from coop.jobs.log import asked_for_by, cancelled_by
from coop.jobs.models import JobLogLine


def erase_from_logs(
    *, account_id: UUID, property_ids: Collection[UUID], names: Collection[str], instead: str
) -> int:
    """Write ``instead`` where a log says that they asked for a run or cancelled it, their own or
    one of these properties. Returns how many lines."""
    lines = JobLogLine.objects.filter(
        Q(run__requested_by=account_id) | Q(run__property_id__in=property_ids)
    )
    changed = 0
    for said in (asked_for_by, cancelled_by):
        theirs = lines.filter(text__in=[said(name) for name in names])
        changed += JobLogLine.objects.filter(
            id__in=list(theirs.values_list("id", flat=True))
        ).update(text=said(instead))
    return changed

"""Take out of the logs of jobs the name of somebody whose data is erased."""

from uuid import UUID

from coop.jobs.models import JobLogLine


def erase_from_logs(*, account_id: UUID, name: str, instead: str) -> int:
    """Write ``instead`` where a log of a run that they asked for says so, or that they cancelled
    it; both end with the name. Returns how many lines."""
    lines = list(JobLogLine.objects.filter(run__requested_by=account_id, text__endswith=name))
    for line in lines:
        line.text = line.text.removesuffix(name) + instead
    JobLogLine.objects.bulk_update(lines, ["text"])
    return len(lines)

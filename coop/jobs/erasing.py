"""Take out of the logs of jobs the name of somebody whose data is erased."""

from uuid import UUID

from coop.jobs.models import JobLogLine


def erase_from_logs(*, account_id: UUID, name: str, instead: str) -> int:
    """Write ``instead`` where a log of a run that they asked for names them; returns how many.

    Others name the system, or whoever cancelled a run of theirs.
    """
    lines = list(JobLogLine.objects.filter(run__requested_by=account_id, text__contains=name))
    for line in lines:
        line.text = line.text.replace(name, instead)
    JobLogLine.objects.bulk_update(lines, ["text"])
    return len(lines)

"""A disk that is full while a report is written: a clear failure, nothing half, and then success.

Reports are rows, so the disk is the database's. What fails here is its storage of reports: a
trigger that answers as PostgreSQL does when its disk is full (SQLSTATE 53100) once more than so
many bytes of reports were written, after the pages of an edition and before its audit record.
No file system is filled: that would take a mount, and with it root.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime

from django.db import connection
from django.utils import timezone

from coop.audit.models import AuditEvent
from coop.jobs import services
from coop.jobs.models import JobRun, JobState
from coop.outbox.models import Fact
from coop.reports import month_job
from coop.reports.models import MonthlyReport
from properties.land.models import Property
from tests.cast import make_cast
from tests.coop.reports.months import make_rich_month
from tests.faults.rows import Row, at_least, exactly

FULL_AFTER_BYTES = 10_000
FILL = f"""
CREATE FUNCTION faults_full() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF octet_length(NEW.html) + coalesce(octet_length(NEW.pdf), 0) > {FULL_AFTER_BYTES} THEN
        RAISE EXCEPTION 'could not extend file: No space left on device'
            USING ERRCODE = 'disk_full';
    END IF;
    RETURN NULL;
END $$;
CREATE TRIGGER faults_full AFTER INSERT ON {{table}} FOR EACH ROW EXECUTE FUNCTION faults_full();
"""


def rows() -> Iterable[Row]:
    land = make_rich_month(make_cast()).land
    facts, events = Fact.objects.count(), AuditEvent.objects.count()
    table = MonthlyReport._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(FILL.format(table=table))
    run = _written(land)
    told = "No space left on device" in run.error
    yield exactly("disk_told", told and run.state == JobState.QUEUED, "jobs to be tried again", 1)
    half = (
        MonthlyReport.objects.count()
        + Fact.objects.count()
        - facts
        + AuditEvent.objects.count()
        - events
    )
    yield exactly("disk_half_written", half, "rows", 0)
    tries = 1
    while run.state == JobState.QUEUED:
        tried = services.run_job(run_id=run.id, now=run.due_at)
        assert tried is not None
        run, tries = tried, tries + 1
    yield exactly("disk_given_up", run.state == JobState.FAILED and told, "jobs", 1)
    yield Row(name="disk_tries", value=tries, unit="tries before it was given up")
    yield exactly("disk_half_written_in_the_end", MonthlyReport.objects.count(), "editions", 0)
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER faults_full ON {table}")
    again = _written(land)
    written = MonthlyReport.objects.count()
    yield exactly("disk_written_once_there_is_space", written, "editions", 1)
    assert again.state == JobState.DONE, again.error
    size = MonthlyReport.objects.get().html
    yield at_least("disk_control_bytes", len(size), "bytes of a page", FULL_AFTER_BYTES)


def _written(land: Property) -> JobRun:
    now = datetime.combine(date.today(), datetime.min.time(), tzinfo=UTC)
    run = services.enqueue(
        name=month_job.NAME,
        now=now,
        property_id=land.id,
        parameters={"property": str(land.id), "month": "2025-10"},
    )
    done = services.run_job(run_id=run.id, now=timezone.now())
    assert done is not None
    return done

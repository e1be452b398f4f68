"""An urgent run starts while the ordinary workers are busy, with real workers and a real Redis."""

from contextlib import contextmanager

import pytest
from django.db import connection
from django.utils import timezone

from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from properties.wind import jobs as wind_jobs
from properties.wind.models import SessionFit
from scheduling.sits.overdue_jobs import WATCH_OVERDUE
from tests.services.test_worker import land_with_a_stand_and_a_forecast, state_of

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@contextmanager
def nobody_reads_fits():
    """Whoever computes fits stands still: another connection holds their table."""
    holding = connection.copy()
    holding.set_autocommit(False)
    try:
        with holding.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {SessionFit._meta.db_table} IN ACCESS EXCLUSIVE MODE")
        yield
    finally:
        holding.rollback()
        holding.close()


def ask_for(name: str, land) -> JobRun:
    parameters = {"property": str(land.id)}
    return jobs.enqueue(name=name, now=timezone.now(), parameters=parameters)


def begun_land(until):
    land = land_with_a_stand_and_a_forecast()
    until(lambda: JobRun.objects.filter(property_id=land.id, state=JobState.DONE).exists())
    until(lambda: not JobRun.objects.exclude(state=JobState.DONE).exists())
    return land


def test_a_look_after_hunters_is_done_while_fits_hold_the_ordinary_worker(
    worker, urgent_worker, until
):
    land = begun_land(until)
    with nobody_reads_fits():
        slow = ask_for(wind_jobs.COMPUTE_FITS, land)
        until(lambda: state_of(slow) == JobState.RUNNING)
        behind = ask_for(wind_jobs.COMPUTE_FITS, land)
        urgent = ask_for(WATCH_OVERDUE, land)

        until(lambda: state_of(urgent) == JobState.DONE)

        # It waited neither for the work in hand nor for the work that was asked for before it,
        # and the worker for urgent work took up nothing slow.
        assert state_of(slow) == JobState.RUNNING
        assert state_of(behind) == JobState.QUEUED
    until(lambda: state_of(behind) == JobState.DONE)


def test_a_worker_that_hears_both_takes_the_urgent_run_first_once_it_is_free(worker, until):
    land = begun_land(until)
    with nobody_reads_fits():
        slow = ask_for(wind_jobs.COMPUTE_FITS, land)
        until(lambda: state_of(slow) == JobState.RUNNING)
        behind = [ask_for(wind_jobs.COMPUTE_FITS, land) for _each in range(3)]
        urgent = ask_for(WATCH_OVERDUE, land)
        assert state_of(urgent) == JobState.QUEUED

    until(lambda: all(state_of(run) == JobState.DONE for run in (*behind, urgent)))

    began = dict(JobRun.objects.values_list("id", "started_at"))
    assert all(began[urgent.id] < began[run.id] for run in behind)

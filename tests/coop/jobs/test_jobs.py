"""The row is the truth about work: claimed once, run again after a death, one run a period."""

from datetime import UTC, datetime, timedelta

import pytest

from coop.jobs import registry, services
from coop.jobs.models import JobRun, JobState

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 11, 1, 12, tzinfo=UTC)


def test_a_job_nobody_registered_is_refused_when_it_is_queued():
    with pytest.raises(LookupError, match=r"test\.unknown"):
        services.enqueue(name="test.unknown", now=NOW)


def test_a_run_keeps_its_result_and_ends_at_100_per_cent(counting):
    run = services.enqueue(name="test.count", now=NOW, parameters={"x": 1})

    services.run_job(run_id=run.id, now=NOW)

    run.refresh_from_db()
    assert (run.state, run.progress_pct, run.result) == (JobState.DONE, 100, {"ran": 1})
    assert counting == [{"x": 1}]


def test_a_run_is_claimed_by_one_worker_only(counting):
    run = services.enqueue(name="test.count", now=NOW)

    first = services.claim(run_id=run.id, now=NOW)
    second = services.claim(run_id=run.id, now=NOW)

    assert first is not None
    assert second is None


def test_a_run_whose_worker_died_is_taken_over_when_its_lease_ends(counting):
    run = services.enqueue(name="test.count", now=NOW)
    services.claim(run_id=run.id, now=NOW)
    later = NOW + timedelta(hours=1)

    assert services.waiting(now=NOW) == []
    assert services.waiting(now=later) == [run.id]
    services.run_job(run_id=run.id, now=later)

    run.refresh_from_db()
    assert (run.state, run.attempts) == (JobState.DONE, 2)


def test_a_worker_that_lost_its_lease_cannot_overwrite_the_one_that_took_over(counting):
    run = services.enqueue(name="test.count", now=NOW)
    late = services.claim(run_id=run.id, now=NOW)
    services.run_job(run_id=run.id, now=NOW + timedelta(hours=1))

    assert late is not None
    with pytest.raises(services.JobCancelled):
        late.report(10)
    run.refresh_from_db()
    assert run.progress_pct == 100


def test_the_same_period_is_one_run(counting):
    first = services.enqueue(name="test.count", now=NOW, scope="north", period="2025-11")
    again = services.enqueue(name="test.count", now=NOW, scope="north", period="2025-11")

    assert first.id == again.id
    assert JobRun.objects.count() == 1


def test_a_failing_job_is_tried_again_later_and_given_up_in_the_end(monkeypatch, settings):
    settings.JOB_MAX_ATTEMPTS = 2

    def failing(_job):
        raise RuntimeError("no wind file")

    monkeypatch.setitem(registry._handlers, "test.fail", failing)
    run = services.enqueue(name="test.fail", now=NOW)

    services.run_job(run_id=run.id, now=NOW)
    run.refresh_from_db()
    assert run.state == JobState.QUEUED
    assert run.due_at > NOW

    services.run_job(run_id=run.id, now=run.due_at)
    run.refresh_from_db()
    assert (run.state, run.error) == (JobState.FAILED, "RuntimeError: no wind file")


def test_an_error_that_quotes_what_no_database_stores_is_written_down(monkeypatch):
    def failing(_job):
        raise ValueError("no wind in a\0b\ud800c")

    # Processes of tests cannot hand each other a log with half a surrogate pair.
    monkeypatch.setattr(services.logger, "disabled", True)
    monkeypatch.setitem(registry._handlers, "test.fail", failing)
    run = services.enqueue(name="test.fail", now=NOW)

    services.run_job(run_id=run.id, now=NOW)
    run.refresh_from_db()

    assert (run.state, run.error) == (JobState.QUEUED, "ValueError: no wind in a\\0b\\ud800c")


def test_a_cancelled_run_stops_at_its_next_report(monkeypatch, cast):
    def cancelled_midway(job):
        run = JobRun.objects.get()
        services.cancel(actor=cast.actor(cast.manager), run=run, now=NOW)
        job.report(60)
        return {"finished": True}

    monkeypatch.setitem(registry._handlers, "test.stop", cancelled_midway)
    run = services.enqueue(name="test.stop", now=NOW, property_id=cast.north.id)

    services.run_job(run_id=run.id, now=NOW)

    run.refresh_from_db()
    assert (run.state, run.result) == (JobState.CANCELLED, {})


def test_what_the_schedules_find_due_is_queued_once_by_two_ticks(counting, monkeypatch):
    due = registry.DueJob(name="test.count", scope="north", period="2025-11-01")
    monkeypatch.setattr(registry, "_schedules", {"test": lambda now: [due]})

    (run,) = services.enqueue_due(now=NOW)
    assert services.enqueue_due(now=NOW) == []

    assert [run] == list(JobRun.objects.filter(name="test.count"))


def test_a_tick_asks_once_for_the_runs_of_a_job_however_many_properties_it_has(
    counting, monkeypatch, django_assert_num_queries
):
    def due(number, period="2025-11-01"):
        scopes = [f"land {each}" for each in range(number)]
        found = [registry.DueJob(name="test.count", scope=scope, period=period) for scope in scopes]
        monkeypatch.setattr(registry, "_schedules", {"test.count": lambda _now: found})

    due(30)
    assert len(services.enqueue_due(now=NOW)) == 30
    with django_assert_num_queries(1):
        assert services.enqueue_due(now=NOW) == []
    due(31)
    (new,) = services.enqueue_due(now=NOW)
    assert new.scope == "land 30"
    due(2, "2025-11-02")
    assert len(services.enqueue_due(now=NOW)) == 2


def test_a_manager_sees_the_jobs_of_their_property_and_no_others(cast, counting):
    mine = services.enqueue(name="test.count", now=NOW, property_id=cast.north.id)
    services.enqueue(name="test.count", now=NOW, property_id=cast.south.id)

    answer = cast.client(cast.manager).get("/api/v1/jobs/")

    assert [row["id"] for row in answer.data["results"]] == [str(mine.id)]

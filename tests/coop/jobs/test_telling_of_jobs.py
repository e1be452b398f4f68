"""What a manager reads of a job: who asked, how long it may take, its log, whether it is stuck."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coop.jobs import log, registry, runner, services
from coop.jobs.estimates import estimates_of
from coop.jobs.models import JobRun, JobState

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 11, 1, 12, tzinfo=UTC)


def test_who_asked_is_told_also_of_a_run_that_a_fact_had_queued(cast, counting):
    told = {"name": "test.count", "scope": "north", "property_id": cast.north.id}
    by_fact = services.enqueue_unless_waiting(now=NOW, **told)
    by_hand = services.enqueue_unless_waiting(
        now=NOW, requested_by_id=cast.actor(cast.manager).account_id, **told
    )
    again = services.enqueue_unless_waiting(
        now=NOW, requested_by_id=cast.actor(cast.coordinator).account_id, **told
    )

    assert by_fact.id == by_hand.id == again.id
    row = cast.client(cast.manager).get(f"/api/v1/jobs/{by_fact.id}/").data
    assert (row["asked_for_by"], row["title"]) == ("Max Manager", "Test: count")


def test_a_run_tells_line_by_line_what_it_went_through(cast, monkeypatch, settings):
    settings.JOB_MAX_ATTEMPTS = 2
    calls = []

    def failing_once(job):
        calls.append(job)
        job.report(40, "reading 3 files")
        job.report(60, "reading 3 files")
        job.log("one line was left out")
        if len(calls) == 1:
            raise RuntimeError("no wind file")
        return {}

    monkeypatch.setitem(registry._handlers, "test.log", failing_once)
    user = cast.manager.user
    run = services.enqueue(name="test.log", now=NOW, requested_by_id=user.id)
    services.run_job(run_id=run.id, now=NOW)
    run.refresh_from_db()
    services.run_job(run_id=run.id, now=run.due_at)

    client = cast.client(cast.manager)
    lines = client.get(f"/api/v1/jobs/{run.id}/log/").data
    texts = [line["text"] for line in lines]
    assert texts == [
        "asked for by Max Manager",
        "attempt 1 begins",
        "40 %: reading 3 files",
        "one line was left out",
        f"RuntimeError: no wind file; again from {run.due_at:%H:%M:%S} UTC",
        "attempt 2 begins",
        "40 %: reading 3 files",
        "one line was left out",
        "done",
    ]
    assert cast.client(cast.stranger).get(f"/api/v1/jobs/{run.id}/log/").status_code == 404


def test_no_log_grows_without_end_and_the_newest_lines_are_kept(counting):
    run = services.enqueue(name="test.count", now=NOW)
    for number in range(log.LINES_KEPT + 20):
        log.write(run_id=run.id, text=f"line {number}" + "x" * 400, at=NOW)

    texts = list(log.lines_of(run.id).values_list("text", flat=True))
    assert len(texts) == log.LINES_KEPT
    assert texts[-1].startswith(f"line {log.LINES_KEPT + 19}")
    assert max(map(len, texts)) == 300


def finished(seconds, name="test.count", days_ago=1.0, state=JobState.DONE):
    ended = timezone.now() - timedelta(days=days_ago)
    return JobRun.objects.create(
        name=name,
        state=state,
        due_at=ended,
        started_at=ended - timedelta(seconds=seconds),
        finished_at=ended,
    )


def test_an_estimate_is_the_median_of_the_last_finished_runs_and_says_so(cast, counting):
    for seconds in (10, 12, 200):
        finished(seconds)
    finished(9000, state=JobState.FAILED)
    finished(9000, days_ago=100)
    finished(9000, name="test.other")
    run = services.enqueue(name="test.count", now=NOW, property_id=cast.north.id)
    client = cast.client(cast.manager)

    assert client.get(f"/api/v1/jobs/{run.id}/").data["estimate"] == {
        "typical_s": 12.0,
        "from_runs": 3,
        "remaining_s": 12.0,
        "sentence": "The median of the last 3 runs of this job is 12 s. No promise.",
    }
    services.claim(run_id=run.id, now=timezone.now() - timedelta(seconds=5))
    left = client.get(f"/api/v1/jobs/{run.id}/").data["estimate"]["remaining_s"]
    assert 0 <= left <= 7
    services.claim(run_id=run.id, now=timezone.now() + timedelta(hours=1))
    JobRun.objects.filter(id=run.id).update(started_at=timezone.now() - timedelta(hours=1))
    assert client.get(f"/api/v1/jobs/{run.id}/").data["estimate"]["remaining_s"] == 0


def test_only_the_last_twenty_runs_are_asked(counting):
    for number in range(20):
        finished(30, days_ago=1 + number / 100)
    for number in range(40):
        finished(5000, days_ago=2 + number / 100)

    (found,) = estimates_of(["test.count", "test.none"], now=timezone.now()).values()
    assert (found.typical_s, found.from_runs) == (30.0, 20)


def test_nothing_is_estimated_without_runs_to_go_by_nor_of_what_has_ended(cast, counting):
    run = services.enqueue(name="test.count", now=NOW, property_id=cast.north.id)
    client = cast.client(cast.manager)
    assert client.get(f"/api/v1/jobs/{run.id}/").data["estimate"] is None
    services.run_job(run_id=run.id, now=NOW)
    row = client.get(f"/api/v1/jobs/{run.id}/").data
    assert (row["estimate"], row["state"]) == (None, "done")
    assert row["took_s"] is not None


def test_the_list_asks_no_more_of_the_database_for_more_jobs(
    cast, counting, django_assert_num_queries
):
    client = cast.client(cast.manager)
    services.enqueue(name="test.count", now=NOW, property_id=cast.north.id)
    client.get("/api/v1/jobs/")  # notes the token's first use
    with CaptureQueriesContext(connection) as few:
        client.get("/api/v1/jobs/")
    for _number in range(20):
        services.enqueue(
            name="test.count",
            now=NOW,
            property_id=cast.north.id,
            requested_by_id=cast.manager.user.id,
        )
    with django_assert_num_queries(len(few)):
        assert len(client.get("/api/v1/jobs/").data["results"]) == 21


def test_a_run_whose_worker_died_is_stuck_until_another_takes_it_over(cast, counting, client):
    run = services.enqueue(name="test.count", now=NOW, property_id=cast.north.id)
    services.claim(run_id=run.id, now=timezone.now() - timedelta(hours=1))
    manager = cast.client(cast.manager)

    assert manager.get(f"/api/v1/jobs/{run.id}/").data["is_stuck"]
    assert [row["id"] for row in manager.get("/api/v1/jobs/?stuck=true").data["results"]] == [
        str(run.id)
    ]
    assert manager.get("/api/v1/jobs/?stuck=false").data["results"] == []
    assert client.get("/health/ready/").json()["stuck_jobs"] == 1

    services.run_job(run_id=run.id, now=timezone.now())

    row = manager.get(f"/api/v1/jobs/{run.id}/").data
    assert (row["is_stuck"], row["state"], row["attempts"]) == (False, "done", 2)
    texts = [line["text"] for line in manager.get(f"/api/v1/jobs/{run.id}/log/").data]
    assert any(text.startswith("its worker gave no sign of life until") for text in texts)
    assert client.get("/health/ready/").json()["stuck_jobs"] == 0


def test_whoever_cancels_is_named_in_the_log_and_asking_twice_is_once(cast, counting):
    run = services.enqueue(name="test.count", now=NOW, property_id=cast.north.id)
    manager = cast.client(cast.manager)
    for _time in range(2):
        assert manager.post(f"/api/v1/jobs/{run.id}/cancel/").data["state"] == "cancelled"

    texts = [line["text"] for line in manager.get(f"/api/v1/jobs/{run.id}/log/").data]
    assert texts.count("cancelled by Max Manager") == 1


def test_the_admin_shows_runs_with_their_log_and_changes_nothing(admin_client, counting):
    run = services.enqueue(name="test.count", now=NOW)
    assert admin_client.get("/admin/coop/jobrun/").status_code == 200
    page = admin_client.get(f"/admin/coop/jobrun/{run.id}/change/")
    assert "due or asked for" in page.content.decode()
    assert "_save" not in page.content.decode()


def test_the_local_runner_hands_on_facts_and_letters_first_and_events_last(counting):
    order = []
    services.enqueue(name="test.count", now=NOW)

    def drain_outbox():
        order.append("outbox")
        return 2, 3

    def deliver():
        order.append("events")
        return 4

    done = runner.drain_once(
        drain_outbox=drain_outbox, deliver=deliver, on_run=lambda _run: order.append("job")
    )

    assert order == ["outbox", "job", "outbox", "events"]
    assert (done.facts, done.messages, done.runs, done.deliveries) == (4, 6, 1, 4)
    assert not done.nothing

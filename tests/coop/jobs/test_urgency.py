"""No urgent job waits behind slow ones: whose turn it is, and which queue a bell rings in."""

from datetime import UTC, datetime, timedelta

import pytest

from coop.celery import app, route
from coop.jobs import bell, registry, runner, services, tasks
from coop.jobs.lanes import URGENT_TASKS, queues
from coop.jobs.models import JobRun, JobState
from coop.jobs.registry import Urgency
from coop.management.commands import serve

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 11, 1, 12, tzinfo=UTC)
A_MINUTE = timedelta(minutes=1)
SLOW_AND_URGENT = ("test.slow", "test.urgent")


@pytest.fixture
def ran(monkeypatch):
    """Jobs of each urgency; remembers the names of those that ran, in order."""
    done = []
    for urgency in Urgency:
        name = f"test.{urgency.name.lower()}"

        def handler(_job, name=name):
            done.append(name)
            return {}

        monkeypatch.setitem(registry._handlers, name, handler)
        monkeypatch.setitem(registry._urgencies, name, urgency)
    return done


@pytest.fixture
def rung(monkeypatch):
    """Bells that were rung: the task and the queue."""
    sent = []

    def send_task(name, *, queue, **_options):
        sent.append((name, queue))

    monkeypatch.setattr(bell, "has_broker", lambda: True)
    monkeypatch.setattr(app, "send_task", send_task)
    return sent


def queue(*names, now=NOW):
    return [
        services.enqueue(name=name, now=now - (len(names) - place) * A_MINUTE)
        for place, name in enumerate(names)
    ]


def test_the_urgent_come_first_then_the_ordinary_then_the_slow_and_each_the_oldest_first(ran):
    slow, ordinary, urgent, later = queue(
        "test.slow", "test.ordinary", "test.urgent", "test.urgent"
    )

    assert services.waiting(now=NOW) == [urgent.id, later.id, ordinary.id, slow.id]
    assert services.waiting(now=NOW, urgent=True) == [urgent.id, later.id]
    assert services.waiting(now=NOW, urgent=False) == [ordinary.id, slow.id]
    assert services.waiting(now=NOW, at_most=1) == [urgent.id]


def test_an_urgent_run_whose_worker_died_comes_before_slow_ones_that_waited_longer(ran):
    slow, urgent = queue(*SLOW_AND_URGENT)
    services.claim(run_id=urgent.id, now=NOW)

    assert services.waiting(now=NOW) == [slow.id]
    assert services.waiting(now=NOW + timedelta(hours=1)) == [urgent.id, slow.id]


def test_a_job_is_ordinary_unless_its_room_says_otherwise(monkeypatch):
    monkeypatch.setattr(registry, "_handlers", {})
    monkeypatch.setattr(registry, "_urgencies", {})
    registry.register_job("test.plain", lambda _job: {})
    registry.register_job("test.hurried", lambda _job: {}, urgency=Urgency.URGENT)

    assert registry.urgency_of("test.plain") is Urgency.ORDINARY
    assert registry.names_of(Urgency.URGENT) == ("test.hurried",)


def test_whoever_may_be_in_danger_is_looked_after_first_and_what_takes_long_comes_last():
    assert registry.names_of(Urgency.URGENT) == (
        "leases.close",
        "sits.check_ground",
        "sits.watch_overdue",
        "tracking.watch_trackers",
    )
    slow = registry.names_of(Urgency.SLOW)
    assert {
        "reports.month",
        "rotation.recompute",
        "rotation.relaxations",
        "sync.export_sits",
        "wind.compute_fits",
    } <= set(slow)
    assert set(slow) <= set(registry.job_names())


def test_each_bell_rings_in_the_queue_of_its_urgency(ran, rung, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        queue(*SLOW_AND_URGENT)
    tasks.sweep()

    ordinary, urgent = "coop-test", ".urgent"
    told = [(name, where.startswith(ordinary), where.endswith(urgent)) for name, where in rung]
    slow_bell, urgent_bell = [("coop.jobs.run_job", True, each) for each in (False, True)]
    assert told == [slow_bell, urgent_bell, urgent_bell, slow_bell]


def test_tasks_that_find_urgent_work_are_heard_in_the_urgent_queue_and_all_others_in_the_other():
    beaten = {entry["task"] for entry in app.conf.beat_schedule.values()}
    urgent = {task for task in beaten if route(task)["queue"].endswith(".urgent")}

    assert urgent == URGENT_TASKS
    assert beaten - urgent == {"coop.jobs.tick", "coop.outbox.send_letters", "coop.outbox.deliver"}


def test_a_worker_hears_both_queues_by_default_and_the_urgent_one_first(settings):
    declared = list(queues("coop"))

    assert declared == ["coop.urgent", "coop"]
    assert next(iter(app.amqp.queues.consume_from)).endswith(".urgent")
    assert settings.CELERY_BROKER_TRANSPORT_OPTIONS["queue_order_strategy"] == "priority"
    exchanges = {queue.exchange.name for queue in app.amqp.queues.consume_from.values()}
    assert len(exchanges) == len(declared)


def test_a_bell_is_answered_with_the_first_in_turn_of_its_own_lane(ran):
    slow, ordinary, urgent = queue("test.slow", "test.ordinary", "test.urgent")

    services.answer_bell(run_id=slow.id, now=NOW)
    assert ran == ["test.ordinary"]
    services.answer_bell(run_id=urgent.id, now=NOW)
    services.answer_bell(run_id=urgent.id, now=NOW)
    assert ran == ["test.ordinary", "test.urgent"]
    services.answer_bell(run_id=ordinary.id, now=NOW)
    assert ran == ["test.ordinary", "test.urgent", "test.slow"]
    assert not JobRun.objects.exclude(state=JobState.DONE).exists()


def test_whoever_loses_the_first_in_turn_to_another_worker_takes_the_next(ran, monkeypatch):
    first, second = queue("test.slow", "test.slow")
    monkeypatch.setattr(services, "waiting", lambda **_asked: [first.id, second.id])
    services.claim(run_id=first.id, now=NOW)

    run = services.run_next(now=NOW)

    assert run is not None
    assert run.id == second.id


def test_a_bell_for_a_run_that_is_gone_is_answered_with_nothing(ran):
    (run,) = queue("test.slow")
    gone = run.id
    run.delete()
    queue("test.slow")

    assert services.answer_bell(run_id=gone, now=NOW) is None
    assert ran == []


def test_the_urgent_schedules_are_asked_by_a_tick_of_their_own(ran, monkeypatch):
    asked = []

    def schedule(name):
        def due(_now):
            asked.append(name)
            return [registry.DueJob(name=name, scope="", period="2025-11-01")]

        return due

    schedules = {name: schedule(name) for name in SLOW_AND_URGENT}
    monkeypatch.setattr(registry, "_schedules", schedules)

    tasks.tick_urgent()
    assert asked == ["test.urgent"]
    tasks.tick()
    assert asked == ["test.urgent", "test.slow"]
    services.enqueue_due(now=NOW)
    assert asked[2:] == ["test.urgent", "test.slow"]
    assert JobRun.objects.count() == 2


def test_the_local_runner_takes_up_what_becomes_urgent_between_two_slow_jobs(ran):
    queue("test.slow", "test.slow")

    def become_due():
        period = "2025-11-01"
        services.enqueue(name="test.urgent", now=NOW, scope="north", period=period)

    runner.drain_once(drain_outbox=lambda: (0, 0), between=become_due, clock=lambda: NOW)

    assert ran == ["test.slow", "test.urgent", "test.slow"]


def test_serving_starts_a_worker_for_both_queues_and_one_for_urgent_work(settings, monkeypatch):
    settings.QUEUE = "coop"
    monkeypatch.setattr(bell, "has_broker", lambda: True)
    both, urgent = serve.Command()._workers()
    assert ("-B" in both, "-Q" in both) == (True, False)
    assert urgent[urgent.index("-Q") + 1] == "coop.urgent"
    assert "-B" not in urgent

    monkeypatch.setattr(bell, "has_broker", lambda: False)
    (runner_alone,) = serve.Command()._workers()
    assert "runjobs" in runner_alone


def test_health_and_metrics_tell_how_long_the_oldest_urgent_job_waits(ran, client, settings):
    now = datetime.now(UTC)
    settings.METRICS_TOKEN = "collectors-token"
    services.enqueue(name="test.slow", now=now - timedelta(hours=1))
    services.enqueue(name="test.urgent", now=now - A_MINUTE)

    ready = client.get("/health/ready/").json()
    metrics = client.get("/metrics/", HTTP_AUTHORIZATION="Bearer collectors-token").content

    assert ready["oldest_due_job_s"] >= 3600
    assert 60 <= ready["oldest_urgent_job_s"] < 3600
    assert b"coop_oldest_urgent_job_seconds" in metrics

"""A worker keeps its lease while it lives; what is left lying by a dead one is rung for."""

import threading
from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone
from kombu import Connection, Producer

from coop.celery import app
from coop.jobs import bell, pulse, registry, services, tasks
from coop.jobs.models import JobRun, JobState

SOON_S = 20
NOBODY_LISTENS = "redis://127.0.0.1:1/0"


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(pulse, "EVERY", timedelta(milliseconds=1))


def test_a_job_that_takes_longer_than_its_lease_keeps_it(transactional_db, monkeypatch, quick):
    renewed = threading.Event()
    renew = services.LeasedRun.renew
    monkeypatch.setattr(services.LeasedRun, "renew", lambda run: renew(run) and not renewed.set())

    def slow(_job):
        before = JobRun.objects.get().lease_until
        JobRun.objects.update(lease_until=before - timedelta(hours=1))
        renewed.clear()
        assert renewed.wait(SOON_S)
        return {"kept": JobRun.objects.get().lease_until >= before}

    monkeypatch.setitem(registry._handlers, "test.slow", slow)
    now = timezone.now()
    run = services.enqueue(name="test.slow", now=now)

    assert services.run_job(run_id=run.id, now=now).result == {"kept": True}


def test_the_pulse_ends_with_the_work_and_when_the_lease_is_lost(transactional_db, quick):
    beaten = threading.Event()

    def lost():
        beaten.set()
        return False

    with pulse.keeping(lost):
        assert beaten.wait(SOON_S)

    assert not [thread for thread in threading.enumerate() if thread.name == "pulse"]


def test_a_database_that_is_away_for_a_moment_does_not_stop_the_pulse(transactional_db, quick):
    answers = iter([OperationalError("gone"), OperationalError("gone"), True])
    again = threading.Event()

    def renew():
        answer = next(answers)
        if isinstance(answer, Exception):
            raise answer
        again.set()
        return False

    with pulse.keeping(renew):
        assert again.wait(SOON_S)


def test_a_handler_that_reports_nothing_for_too_long_loses_its_lease(db, counting, settings):
    run = services.enqueue(name="test.count", now=timezone.now())
    leased = services.claim(run_id=run.id, now=timezone.now())

    assert leased.renew()
    settings.JOB_LONGEST_SILENCE_SECONDS = 0
    assert not leased.renew()


def test_a_worker_whose_lease_passed_on_renews_nothing(db, counting):
    now = timezone.now()
    run = services.enqueue(name="test.count", now=now - timedelta(hours=2))
    late = services.claim(run_id=run.id, now=now - timedelta(hours=1))
    services.claim(run_id=run.id, now=now)
    held_until = JobRun.objects.get().lease_until

    assert not late.renew()
    assert JobRun.objects.get().lease_until == held_until


def test_what_is_taken_up_late_in_a_pass_is_held_as_long_as_what_came_first(monkeypatch):
    now, clock = timezone.now(), iter([100.0, 100.0, 140.0])
    monkeypatch.setattr(pulse.time, "monotonic", lambda: next(clock))
    lease = pulse.leases_from(now)

    assert lease() == now + pulse.LEASE
    assert lease() == now + pulse.LEASE + timedelta(seconds=40)


def test_the_sweep_rings_for_what_is_due_and_for_what_a_dead_worker_held(db, counting, monkeypatch):
    now = timezone.now()
    rung = []
    monkeypatch.setattr(bell, "ring_job", lambda run_id, **_told: rung.append(run_id))
    waiting = services.enqueue(name="test.count", now=now - timedelta(minutes=1))
    dead = services.enqueue(name="test.count", now=now - timedelta(hours=1))
    services.claim(run_id=dead.id, now=now - timedelta(hours=1))
    alive = services.enqueue(name="test.count", now=now)
    services.claim(run_id=alive.id, now=now)
    services.enqueue(name="test.count", now=now + timedelta(hours=1))

    tasks.sweep()

    assert rung == [dead.id, waiting.id]
    assert JobRun.objects.filter(state=JobState.RUNNING).count() == 2


@pytest.mark.parametrize("error", [OSError("refused"), RuntimeError("the broker is loading")])
def test_a_broker_that_does_not_hear_costs_the_caller_nothing(
    db, counting, monkeypatch, settings, error, django_capture_on_commit_callbacks
):
    def unheard(*_arguments, **_options):
        raise error

    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    monkeypatch.setattr(app, "send_task", unheard)

    with django_capture_on_commit_callbacks(execute=True):
        run = services.enqueue(name="test.count", now=timezone.now())

    assert services.waiting(now=timezone.now()) == [run.id]


def test_whoever_rings_a_broker_that_is_away_tries_once(settings, monkeypatch):
    tried = []

    def refused(_connection):
        tried.append(1)
        raise ConnectionRefusedError

    settings.REDIS_URL = NOBODY_LISTENS
    monkeypatch.setattr("redis.connection.Connection._connect", refused)
    monkeypatch.setattr(
        app,
        "producer_or_acquire",
        lambda _producer=None: Producer(
            Connection(NOBODY_LISTENS, transport_options=settings.CELERY_BROKER_TRANSPORT_OPTIONS)
        ),
    )

    bell.ring_outbox()

    assert len(tried) <= 2
    assert tried

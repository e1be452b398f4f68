"""Facts and letters of safety are handed on apart from all that may wait."""

from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from coop.jobs import bell
from coop.outbox import services, tasks
from coop.outbox.models import Fact, Message, MessageState

pytestmark = pytest.mark.django_db


@pytest.fixture
def handled(monkeypatch):
    """Topics of facts that were handled, in order; ``test.closed`` is urgent."""
    done = []
    monkeypatch.setattr(services, "_handlers", {})
    monkeypatch.setattr(services, "_urgent_topics", set())
    for topic, urgent in (("test.report", False), ("test.closed", True)):
        services.on_fact(topic, lambda _ids, _now, topic=topic: done.append(topic), urgent=urgent)
    return done


@pytest.fixture
def rung(monkeypatch):
    sent = []
    monkeypatch.setattr(bell, "_send", lambda name, *_arguments, **_told: sent.append(name))
    return sent


def write(key, *, urgent):
    return services.write_message(
        once_key=key,
        recipient="max@cooperative.example",
        subject=key,
        text="Ridge ladder",
        now=timezone.now(),
        urgent=urgent,
    )


def test_a_fact_that_is_urgent_is_handled_before_older_ones(handled):
    now = timezone.now()
    for topic in ("test.report", "test.closed"):
        services.publish(topic=topic, ids={}, now=now)
        now += timedelta(milliseconds=1)

    services.drain_urgent(now=now)

    assert handled == ["test.closed", "test.report"]


def test_the_urgent_pass_sends_letters_of_safety_and_leaves_the_others_to_their_own():
    write("report", urgent=False)
    write("overdue", urgent=True)

    tasks.drain()
    assert [letter.subject for letter in mail.outbox] == ["overdue"]
    tasks.send_letters()
    assert [letter.subject for letter in mail.outbox] == ["overdue", "report"]


def test_a_letter_rings_for_the_pass_that_sends_it(rung, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        write("report", urgent=False)
        write("overdue", urgent=True)

    assert rung == ["coop.outbox.send_letters", "coop.outbox.drain"]


def test_a_pass_ends_in_time_and_rings_for_what_is_left(handled, rung):
    now = timezone.now()
    for _each in range(3):
        services.publish(topic="test.report", ids={}, now=now)
    seconds = iter(range(0, 1000, 3))

    services.drain_urgent(now=now, monotonic=lambda: float(next(seconds)))

    assert 0 < len(handled) < 3
    assert rung == ["coop.outbox.drain"]
    services.drain_urgent(now=now)
    assert len(handled) == 3
    assert rung == ["coop.outbox.drain"]


def test_a_mail_server_that_hangs_holds_no_fact_up(handled, rung, monkeypatch):
    for number in range(4):
        write(f"overdue {number}", urgent=True)
    services.publish(topic="test.closed", ids={}, now=timezone.now())
    clock = [0.0]

    def hang(_messages, _now):
        clock[0] += 20.0
        return 0

    monkeypatch.setattr(services.departures, "_send", hang)
    services.drain_urgent(now=timezone.now(), monotonic=lambda: clock[0])

    assert handled == ["test.closed"]
    assert Fact.objects.filter(handled_at=None).count() == 0
    assert Message.objects.filter(state=MessageState.WAITING).count() == 4
    assert clock[0] == 40.0

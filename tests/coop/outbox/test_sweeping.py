"""What lies there that nobody is at is rung for; what waits its turn is not."""

from datetime import timedelta

import pytest
from django.utils import timezone

from coop.jobs import bell
from coop.outbox import services, sweeping, tasks
from coop.outbox.models import Fact, Message

pytestmark = pytest.mark.django_db

A_MINUTE = timedelta(minutes=1)


def write(key, *, urgent=False):
    return services.write_message(
        urgent=urgent,
        once_key=key,
        recipient="max@cooperative.example",
        subject="Stand closed",
        text="Ridge ladder",
        now=timezone.now() - A_MINUTE,
    )


def test_nothing_lies_in_an_empty_outbox():
    assert not sweeping.outbox_lies(timezone.now())
    assert not sweeping.letters_lie(timezone.now())
    assert not sweeping.deliveries_lie(timezone.now())


def test_a_letter_whose_bell_was_lost_lies_there_and_one_that_is_not_due_does_not():
    message = write("a")
    assert sweeping.letters_lie(timezone.now())
    assert not sweeping.outbox_lies(timezone.now())

    Message.objects.filter(id=message.id).update(due_at=timezone.now() + A_MINUTE)
    assert not sweeping.letters_lie(timezone.now())


def test_a_letter_of_safety_lies_there_while_another_letter_is_on_its_way():
    slow, _urgent = write("a"), write("b", urgent=True)
    Message.objects.filter(id=slow.id).update(lease_until=timezone.now() + A_MINUTE)

    assert sweeping.outbox_lies(timezone.now())
    assert not sweeping.letters_lie(timezone.now())


def test_a_letter_that_waits_its_turn_behind_another_does_not_lie_there():
    first, _second = write("a"), write("b")
    Message.objects.filter(id=first.id).update(lease_until=timezone.now() + A_MINUTE)

    assert not sweeping.letters_lie(timezone.now())


def test_a_letter_whose_sender_died_lies_there_whoever_else_is_at_work():
    first, second = write("a"), write("b")
    Message.objects.filter(id=first.id).update(lease_until=timezone.now() + A_MINUTE)
    Message.objects.filter(id=second.id).update(lease_until=timezone.now() - A_MINUTE)

    assert sweeping.letters_lie(timezone.now())


def test_the_sweep_rings_for_facts_once_and_not_for_those_that_were_given_up(monkeypatch):
    rung = []
    monkeypatch.setattr(bell, "ring_outbox", lambda **_told: rung.append("outbox"))
    monkeypatch.setattr(bell, "ring_deliveries", lambda **_told: rung.append("deliveries"))
    fact = services.publish(topic="test.nothing", ids={}, now=timezone.now() - A_MINUTE)
    tasks.sweep()
    assert rung == ["outbox"]

    Fact.objects.filter(id=fact.id).update(failed_at=timezone.now())
    tasks.sweep()
    assert rung == ["outbox"]

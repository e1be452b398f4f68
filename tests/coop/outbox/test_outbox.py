"""Facts reach their rooms at least once; a message is written once and tried until it leaves."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail
from django.db import transaction

from coop.outbox import services
from coop.outbox.models import Fact, Message, MessageState

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 11, 1, 12, tzinfo=UTC)


def write(key: str = "k") -> Message:
    return services.write_message(
        once_key=key, recipient="mia@example.org", subject="Tonight", text="North gate", now=NOW
    )


def test_a_fact_whose_cause_was_rolled_back_never_happened():
    @transaction.atomic
    def cause_that_fails():
        services.publish(topic="stand.closed", ids={}, now=NOW)
        raise RuntimeError

    with pytest.raises(RuntimeError):
        cause_that_fails()

    assert not Fact.objects.exists()


def test_every_handler_of_a_topic_hears_a_fact_once(monkeypatch):
    heard = []
    monkeypatch.setattr(
        services,
        "_handlers",
        {"stand.closed": [lambda ids, now: heard.append(("a", ids["stand"]))] * 2},
    )
    services.publish(topic="stand.closed", ids={"stand": "s1"}, now=NOW)

    services.drain(now=NOW)
    services.drain(now=NOW)

    assert heard == [("a", "s1")] * 2


def test_a_handler_that_fails_leaves_no_half_work_and_is_called_again_later(monkeypatch):
    calls = []

    def failing_once(ids, now):
        write("from-handler")
        calls.append(now)
        if len(calls) == 1:
            raise RuntimeError("not yet")

    monkeypatch.setattr(services, "_handlers", {"t": [failing_once]})
    fact = services.publish(topic="t", ids={}, now=NOW)

    services.drain(now=NOW)
    assert not Message.objects.exists()
    fact.refresh_from_db()
    assert (fact.handled_at, fact.error) == (None, "RuntimeError: not yet")

    services.drain(now=fact.due_at + timedelta(seconds=1))
    fact.refresh_from_db()
    assert fact.handled_at is not None
    assert Message.objects.count() == 1


def test_the_same_notice_is_written_once():
    assert write("refresh:42").id == write("refresh:42").id
    assert Message.objects.count() == 1


def test_a_message_leaves_with_an_id_that_stays_the_same():
    message = write()
    services.drain(now=NOW)
    services.drain(now=NOW)

    (sent,) = mail.outbox
    assert sent.extra_headers["Message-ID"] == f"<{message.id}@cooperative.invalid>"
    message.refresh_from_db()
    assert message.state == MessageState.SENT


def test_a_message_that_cannot_leave_dies_and_can_be_sent_again(monkeypatch):
    def refuse(_mail, *_a, **_k):
        raise ConnectionRefusedError("mail server is down")

    message = write()
    with monkeypatch.context() as down:
        down.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
        now = NOW
        for _attempt in range(services.MAX_ATTEMPTS):
            services.drain(now=now)
            message.refresh_from_db()
            now = message.due_at + timedelta(seconds=1)
    assert (message.state, message.attempts) == (MessageState.DEAD, services.MAX_ATTEMPTS)
    assert "mail server is down" in message.error

    services.send_again(message=message, now=now)
    services.drain(now=now)

    message.refresh_from_db()
    assert message.state == MessageState.SENT

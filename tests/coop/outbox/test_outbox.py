"""Facts reach their rooms at least once; a message is written once and tried until it leaves."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.db import transaction
from django.utils import timezone

from coop.audit.models import AuditEvent
from coop.jobs import pulse
from coop.naming import KnownAs
from coop.outbox import departures, services
from coop.outbox.erasing import erase_letters
from coop.outbox.models import Fact, Message, MessageState

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 11, 1, 12, tzinfo=UTC)


def write(key: str = "k", subject: str = "Tonight", **fields: Any) -> Message:
    return services.write_message(
        once_key=key,
        recipient="mia@example.org",
        subject=subject,
        text="North gate",
        now=NOW,
        **fields,
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


def test_a_message_that_cannot_leave_dies_and_a_coordinator_sends_it_again(monkeypatch, cast):
    def refuse(_mail, *_a, **_k):
        raise ConnectionRefusedError("mail server is down")

    message = write(cooperative_id=cast.cooperative.id)
    with monkeypatch.context() as down:
        down.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
        now = NOW
        for _attempt in range(services.MAX_ATTEMPTS):
            services.drain(now=now)
            message.refresh_from_db()
            now = message.due_at + timedelta(seconds=1)
    assert (message.state, message.attempts) == (MessageState.DEAD, services.MAX_ATTEMPTS)
    assert "mail server is down" in message.error

    coordinator = cast.client(cast.coordinator)
    (seen,) = coordinator.get("/api/v1/messages/?state=dead").data["results"]
    where = f"/api/v1/messages/{seen['id']}/send-again/"
    assert cast.client(cast.manager).post(where).status_code == 404
    assert cast.client(cast.stranger).post(where).status_code == 404
    assert coordinator.post(where).data["state"] == MessageState.WAITING
    event = AuditEvent.objects.get(action="message:send")
    assert (event.before, event.after["state"]) == ({"state": "dead"}, "waiting")
    assert "text" not in event.after
    Message.objects.update(due_at=now)
    services.drain(now=now)

    message.refresh_from_db()
    assert message.state == MessageState.SENT
    # One that has left stays so, however often somebody asks.
    assert coordinator.post(where).data["state"] == MessageState.SENT
    assert AuditEvent.objects.filter(action="message:send").count() == 1


def test_a_message_whose_senders_keep_dying_is_given_up_and_holds_nothing_up():
    message, other = write("a"), write("b")
    now = NOW
    for _death in range(departures.MAX_ATTEMPTS):
        lease = pulse.leases_from(now)
        assert departures._claim(Message.objects.filter(id=message.id), now, lease)
        now += pulse.LEASE + timedelta(minutes=1)

    services.drain(now=now)

    message.refresh_from_db()
    other.refresh_from_db()
    assert (message.state, message.attempts) == (MessageState.DEAD, departures.MAX_ATTEMPTS)
    assert "kept dying" in message.error
    assert other.state == MessageState.SENT


def test_a_letter_that_cannot_be_written_holds_no_other_up():
    bad, good = write("a", subject="Two\nlines"), write("b")

    services.drain(now=NOW)

    bad.refresh_from_db()
    good.refresh_from_db()
    assert (bad.state, good.state) == (MessageState.WAITING, MessageState.SENT)
    assert "BadHeaderError" in bad.error or "ValueError" in bad.error


def test_a_letter_whose_reader_is_erased_while_it_fails_to_leave_waits_no_more(monkeypatch):
    message = write()

    def erased_then_refused(_mail, *_a, **_k):
        known_as = KnownAs(names=frozenset({"Mia"}), addresses=frozenset({message.recipient}))
        erase_letters(cooperative_id=uuid4(), known_as=known_as)
        raise ConnectionRefusedError(f"{message.recipient} is unknown here")

    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", erased_then_refused)
    services.drain(now=NOW)

    message.refresh_from_db()
    assert (message.state, message.text, message.error) == (MessageState.WITHHELD, "", "")


def test_a_fact_that_was_given_up_is_handled_again_on_request(monkeypatch, admin_client):
    heard = []

    def failing(ids, now):
        heard.append(now)
        if len(heard) <= services.MAX_ATTEMPTS:
            raise RuntimeError("not yet")

    monkeypatch.setattr(services, "_handlers", {"t": [failing]})
    fact = services.publish(topic="t", ids={}, now=NOW)
    now = NOW
    for _attempt in range(services.MAX_ATTEMPTS):
        services.drain(now=now)
        fact.refresh_from_db()
        now = fact.due_at + timedelta(seconds=1)
    assert fact.failed_at is not None
    services.drain(now=now + timedelta(days=1))
    assert len(heard) == services.MAX_ATTEMPTS

    chosen = {"action": "handle_again", "_selected_action": [str(fact.id)]}
    admin_client.post("/admin/coop/fact/", chosen)
    services.drain(now=timezone.now() + timedelta(seconds=1))

    fact.refresh_from_db()
    assert fact.handled_at is not None

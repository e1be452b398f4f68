"""From a fact to a receiver: written with its cause, signed, once for each receiver."""

from datetime import timedelta

import pytest
import time_machine
from django.db import transaction
from standardwebhooks.webhooks import WebhookVerificationError

from coop.outbox import readings
from coop.outbox import services as outbox
from coop.outbox.models import Fact
from coop.outbox.webhooks import delivery, services
from coop.outbox.webhooks.models import (
    DeliveryAttempt,
    WebhookDelivery,
)
from properties.stands.services import close_stand, open_stand
from tests.cast import make_stand
from tests.coop.outbox.webhooks.doings import close, manager

pytestmark = pytest.mark.django_db


def test_a_closed_stand_is_told_in_a_letter_that_the_library_verifies(stage, stand):
    endpoint = stage.register(manager(stage), "stand.closed")
    close(stage, stand)

    assert stage.hand_on() == 1

    (posted,) = stage.receiver.posted
    assert posted.headers["content-type"] == "application/json"
    assert int(posted.headers["webhook-timestamp"]) == int(stage.now.timestamp())
    with time_machine.travel(stage.now, tick=False):
        told = posted.verified_by(stage.secrets[endpoint.id])
    assert told == {
        "type": "stand.closed",
        "timestamp": stage.now.isoformat(),
        "data": {"property": str(stage.cast.north.id), "stand": str(stand.id)},
    }
    assert b"Rotten" not in posted.body


def test_the_closing_itself_writes_the_fact_and_a_rollback_leaves_none(stage, stand):
    stage.register(manager(stage), "stand.closed")
    with transaction.atomic():
        close(stage, stand)
        transaction.set_rollback(True)

    assert stage.hand_on() == 0
    assert not WebhookDelivery.objects.exists()


def test_only_the_types_asked_for_and_the_property_registered_are_told(stage, stand):
    stage.register(manager(stage), "stand.opened")
    close(stage, stand)
    elsewhere = make_stand(stage.cast.south, "Elsewhere")
    coordinator = stage.cast.actor(stage.cast.coordinator)
    close_stand(actor=coordinator, stand=elsewhere, reason="x", now=stage.now)
    open_stand(actor=coordinator, stand=elsewhere, reason="x", now=stage.now)

    assert stage.hand_on() == 0
    open_stand(actor=manager(stage), stand=stand, reason="Mended", now=stage.now)
    assert stage.hand_on() == 1


def test_a_fact_that_is_handled_twice_is_told_once(stage, stand):
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    Fact.objects.update(handled_at=None)

    stage.hand_on()

    assert WebhookDelivery.objects.count() == 1
    assert len(stage.receiver.posted) == 1


def test_what_goes_wrong_with_receivers_holds_up_no_other_follower(stage, stand, monkeypatch):
    """A closed stand's sits are released even if nobody can say who hears of it."""
    stage.register(manager(stage), "stand.closed")
    heard = []
    monkeypatch.setitem(outbox._handlers, "stand.closed", [lambda ids, now: heard.append(ids)])

    def broken(*_args):
        raise RuntimeError("no answer")

    monkeypatch.setattr(delivery.queries, "may_hear", broken)
    close(stage, stand)
    stage.hand_on()

    assert len(heard) == 1
    assert Fact.objects.get(topic="stand.closed").handled_at is not None
    waiting = Fact.objects.get(topic=delivery.ANNOUNCE)
    assert (waiting.handled_at, waiting.error) == (None, "RuntimeError: no answer")


def test_after_a_rotation_both_secrets_verify_for_a_day_and_then_the_new_one(stage, stand):
    endpoint = stage.register(manager(stage), "stand.closed")
    old = stage.secrets[endpoint.id]
    _endpoint, new = services.rotate_secret(actor=manager(stage), endpoint=endpoint, now=stage.now)
    assert new != old
    close(stage, stand)
    stage.after(hours=23).hand_on()
    with time_machine.travel(stage.now, tick=False):
        for secret in (old, new):
            stage.receiver.posted[0].verified_by(secret)

    replayed = WebhookDelivery.objects.get()
    stage.after(hours=1)
    services.replay(actor=manager(stage), delivery=replayed, now=stage.now)
    stage.deliver()
    with time_machine.travel(stage.now, tick=False):
        stage.receiver.posted[1].verified_by(new)
        with pytest.raises(WebhookVerificationError):
            stage.receiver.posted[1].verified_by(old)


def test_two_workers_send_what_is_due_once(stage, stand):
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    while Fact.objects.filter(handled_at=None).exists():
        outbox.drain(now=stage.now)
    row = WebhookDelivery.objects.get()

    assert delivery._claim(row.id, stage.now) is not None
    assert delivery._claim(row.id, stage.now) is None
    # The first died: its lease ends, and another sends.
    assert stage.after(minutes=3).deliver() == 1


def test_old_deliveries_are_forgotten_and_waiting_ones_are_not(stage, stand):
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()
    row = WebhookDelivery.objects.get()
    waiting = WebhookDelivery.objects.create(
        endpoint=row.endpoint, type=row.type, occurred_at=stage.now, due_at=stage.now
    )

    assert delivery.forget_old_deliveries(now=stage.now + timedelta(days=29)) == 0
    assert delivery.forget_old_deliveries(now=stage.now + timedelta(days=31)) == 1
    assert list(WebhookDelivery.objects.all()) == [waiting]
    assert not DeliveryAttempt.objects.exists()


def test_a_collector_is_told_how_many_events_wait_and_died(stage, stand):
    stage.receiver.answers = [(410, {})]
    stage.register(manager(stage), "stand.closed")
    close(stage, stand)
    stage.hand_on()

    told = readings._deliveries(stage.now)
    assert told == [({"state": "dead"}, 1)]

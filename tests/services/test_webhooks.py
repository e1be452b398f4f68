"""Events reach a real receiver through a real worker, and survive its death."""

import threading
from datetime import timedelta

import pytest
from django.utils import timezone

from coop.outbox import tasks
from coop.outbox.webhooks import services
from coop.outbox.webhooks.models import DeliveryState, WebhookDelivery
from properties.stands.services import close_stand
from tests.cast import make_cast, make_stand
from tests.coop.outbox.webhooks.receiver import receiving
from tests.services.conftest import kill_at_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def to_this_machine(monkeypatch, settings):
    """Before the worker starts, which takes its settings from the environment."""
    monkeypatch.setenv("COOP_WEBHOOKS_ALLOW_PRIVATE", "true")
    settings.WEBHOOKS_ALLOW_PRIVATE = True


def close_a_stand(url: str) -> str:
    """Register a receiver and close a stand; returns the receiver's secret."""
    cast = make_cast()
    actor, now = cast.actor(cast.manager), timezone.now()
    fields = {"url": url, "event_types": ["stand.closed"]}
    _endpoint, secret = services.register_endpoint(
        actor=actor, property_id=cast.north.id, fields=fields, now=now
    )
    stand = make_stand(cast.north, "Ridge ladder")
    close_stand(actor=actor, stand=stand, reason="Rotten rung", now=now)
    return secret


def test_a_closed_stand_reaches_a_receiver_by_bell_and_worker_alone(to_this_machine, worker, until):
    with receiving() as receiver:
        secret = close_a_stand(receiver.url)
        until(lambda: bool(receiver.posted))
        until(lambda: WebhookDelivery.objects.filter(state=DeliveryState.DELIVERED).exists())

    (posted,) = receiver.posted
    assert posted.verified_by(secret)["type"] == "stand.closed"


def test_an_event_whose_worker_was_killed_while_it_sent_arrives_under_the_same_id(
    to_this_machine, worker, until
):
    with receiving(hangs=threading.Event()) as receiver:
        close_a_stand(receiver.url)
        until(lambda: bool(receiver.posted))
        kill_at_once(worker)
        assert WebhookDelivery.objects.get().state == DeliveryState.WAITING
        # Nobody sends it while the dead one's lease lasts.
        tasks.deliver()
        assert len(receiver.posted) == 1

        receiver.hangs.set()
        receiver.hangs = None
        ended = timezone.now() - timedelta(seconds=1)
        WebhookDelivery.objects.update(lease_until=ended)
        tasks.deliver()

    first, second = receiver.posted
    assert first.headers["webhook-id"] == second.headers["webhook-id"]
    assert first.body == second.body
    assert WebhookDelivery.objects.get().state == DeliveryState.DELIVERED

"""A receiver on this machine, and endpoints of people and of an outfitter's application."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine

from coop.outbox import services as outbox
from coop.outbox.models import Fact
from coop.outbox.webhooks import delivery, services
from coop.outbox.webhooks.models import WebhookEndpoint
from coop.outbox.webhooks.practice import PRACTICE
from tests.cast import Cast, make_stand
from tests.coop.outbox.webhooks.receiver import Receiver, receiving

NOW = datetime(2025, 11, 1, 17, tzinfo=UTC)


@dataclass(kw_only=True)
class Stage:
    """The cast, a receiver, and a clock that tests turn by hand."""

    cast: Cast
    receiver: Receiver
    now: datetime = NOW
    secrets: dict[Any, str] = field(default_factory=dict)

    def register(self, actor: Any, *types: str, **fields: Any) -> WebhookEndpoint:
        told = {"url": self.receiver.url, "event_types": list(types), **fields}
        endpoint, secret = services.register_endpoint(
            actor=actor, property_id=self.cast.north.id, fields=told, now=self.now
        )
        self.secrets[endpoint.id] = secret
        return endpoint

    def hand_on(self) -> int:
        """Handle every fact that waits, then deliver what is due; returns how many arrived."""
        while Fact.objects.filter(handled_at=None, due_at__lte=self.now).exists():
            outbox.drain(now=self.now)
        return self.deliver()

    def deliver(self) -> int:
        with time_machine.travel(self.now, tick=False):
            return delivery.deliver_due(clock=lambda: self.now)

    def after(self, **passed: float) -> "Stage":
        self.now += timedelta(**passed)
        return self


@pytest.fixture
def stage(cast, settings):
    settings.WEBHOOKS_ALLOW_PRIVATE = True
    with receiving() as receiver:
        yield Stage(cast=cast, receiver=receiver)


@pytest.fixture
def no_jitter(monkeypatch):
    practice = type(PRACTICE)(jitter=0.0)
    monkeypatch.setattr(delivery, "PRACTICE", practice)
    return practice


@pytest.fixture
def stand(stage):
    return make_stand(stage.cast.north, "Ridge ladder")

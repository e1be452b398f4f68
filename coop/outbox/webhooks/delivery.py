"""From a fact to deliveries, and from a delivery to the receiver, at least once."""

import json
import time
from collections.abc import Callable, Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from coop.access.actors import system_actor
from coop.access.roles import Action
from coop.jobs import bell, pulse, registry
from coop.outbox import services as outbox
from coop.outbox.models import Fact
from coop.outbox.webhooks import events, queries, sending, services, signing
from coop.outbox.webhooks.models import (
    DeliveryAttempt,
    DeliveryState,
    DisabledReason,
    Outcome,
    WebhookDelivery,
    WebhookEndpoint,
)
from coop.outbox.webhooks.practice import PRACTICE
from coop.outbox.webhooks.sending import Attempted

DELIVERER = "webhook delivery"
ANNOUNCE = "webhook.announce"
FORGET = "webhooks.forget_old_deliveries"
_GONE = 410
_SLOW_DOWN = frozenset({429, 502, 503, 504})


def follow(fact: Fact, now: datetime) -> None:
    """Note, with the handling of a fact, that receivers are to hear of it.

    The note is a fact of its own: whatever goes wrong with receivers, the rooms that follow
    the first fact (a closed stand's sits, say) are not held up.
    """
    if events.event_of_topic(fact.topic) is None or "property" not in fact.ids:
        return
    if _receivers(fact).exists():
        outbox.publish(topic=ANNOUNCE, ids={"fact": fact.id}, now=now)


def announce(ids: Mapping[str, str], now: datetime) -> None:
    """``webhook.announce``: one delivery to each receiver that asked for the event and may hear
    it. Run twice it leaves one of each."""
    fact = Fact.objects.get(id=ids["fact"])
    event = events.event_of_topic(fact.topic)
    if event is None:
        return
    endpoints = _receivers(fact).select_related("user", "application")
    told = {name: fact.ids[name] for name in event.tells if name in fact.ids}
    rows = [
        WebhookDelivery(
            endpoint=endpoint,
            fact_id=fact.id,
            type=event.name,
            data=told,
            occurred_at=fact.occurred_at,
            due_at=now,
        )
        for endpoint in endpoints
        if event.name in endpoint.event_types and queries.may_hear(endpoint, event, told)
    ]
    if rows:
        WebhookDelivery.objects.bulk_create(rows, ignore_conflicts=True)
        transaction.on_commit(bell.ring_deliveries)


def _receivers(fact: Fact) -> QuerySet[WebhookEndpoint]:
    return WebhookEndpoint.objects.filter(
        property_id=UUID(fact.ids["property"]), retired_at=None, disabled_at=None
    )


def body_of(delivery: WebhookDelivery) -> bytes:
    """The bytes that are signed and sent: the same at every attempt."""
    told = {
        "type": delivery.type,
        "timestamp": delivery.occurred_at.isoformat(),
        "data": delivery.data,
    }
    return json.dumps(told, separators=(",", ":"), sort_keys=True).encode()


def deliver_due(
    *,
    clock: Callable[[], datetime] = timezone.now,
    monotonic: Callable[[], float] = time.monotonic,
) -> int:
    """Send what is due, within the time of a pass; returns how many were delivered.

    A receiver that does not answer is left alone for the rest of the pass, so that one slow
    receiver costs the others one waiting time and no more.
    """
    ends_at = monotonic() + PRACTICE.pass_within_s
    waiting = WebhookDelivery.objects.filter(state=DeliveryState.WAITING, due_at__lte=clock())
    delivered, slow = 0, set[UUID]()
    rows = list(waiting.order_by("due_at", "id").values_list("id", "endpoint_id"))
    for delivery_id, endpoint_id in rows:
        if monotonic() >= ends_at:
            bell.ring_deliveries()
            break
        delivery = None if endpoint_id in slow else _claim(delivery_id, clock())
        if delivery is None:
            continue
        outcome = _attempt(delivery, clock)
        if outcome is None:
            continue
        delivered += outcome.outcome is Outcome.DELIVERED
        if outcome.status in _SLOW_DOWN or outcome.status is None:
            slow.add(endpoint_id)
    return delivered


def forget_old_deliveries(*, now: datetime) -> int:
    """Delete finished deliveries that are older than the log is kept; returns how many."""
    old = WebhookDelivery.objects.filter(finished_at__lt=now - PRACTICE.log_kept).exclude(
        state=DeliveryState.WAITING
    )
    _rows, by_model = old.delete()
    return by_model.get("coop.WebhookDelivery", 0)


def _forget(job: registry.JobContext) -> dict[str, int]:
    return {"deleted": forget_old_deliveries(now=job.now)}


def _forgetting_due(now: datetime) -> list[registry.DueJob]:
    """Once a day, by UTC."""
    return [registry.DueJob(name=FORGET, scope="", period=f"{now:%Y-%m-%d}")]


def _claim(delivery_id: UUID, now: datetime) -> WebhookDelivery | None:
    """Take the lease by one conditional update; None when somebody else holds it."""
    unleased = Q(lease_until=None) | Q(lease_until__lt=now)
    claimed = WebhookDelivery.objects.filter(
        unleased, id=delivery_id, state=DeliveryState.WAITING, due_at__lte=now
    ).update(lease_until=now + pulse.LEASE, attempts=F("attempts") + 1)
    if not claimed:
        return None
    rows = WebhookDelivery.objects.select_related("endpoint__user", "endpoint__application")
    return rows.get(id=delivery_id)


def _attempt(delivery: WebhookDelivery, clock: Callable[[], datetime]) -> Attempted | None:
    """Send once, outside any transaction, and write what came of it; None if it was withheld."""
    began = clock()
    if not queries.may_be_sent(delivery):
        _finish(delivery, DeliveryState.WITHHELD, began, attempts=delivery.attempts - 1)
        return None
    body = body_of(delivery)
    headers = signing.signed_headers(
        services.secrets_in_force(delivery.endpoint, began),
        message_id=delivery.message_id,
        body=body,
        now=began,
    )
    started_s = time.monotonic()
    with pulse.keeping(lambda: _renew(delivery.id)):
        attempted = sending.post(delivery.endpoint.url, body=body, headers=headers)
    took_ms = round(1000 * (time.monotonic() - started_s))
    _keep(delivery, attempted, began=began, took_ms=took_ms, now=clock())
    return attempted


def _renew(delivery_id: UUID) -> bool:
    held = WebhookDelivery.objects.filter(
        id=delivery_id, state=DeliveryState.WAITING, lease_until__isnull=False
    )
    return bool(held.update(lease_until=timezone.now() + pulse.LEASE))


@transaction.atomic
def _keep(
    delivery: WebhookDelivery, attempted: Attempted, *, began: datetime, took_ms: int, now: datetime
) -> None:
    DeliveryAttempt.objects.create(
        delivery=delivery,
        number=delivery.attempts,
        attempted_at=began,
        duration_ms=took_ms,
        outcome=attempted.outcome,
        status=attempted.status,
    )
    if attempted.outcome is Outcome.DELIVERED:
        _finish(delivery, DeliveryState.DELIVERED, now)
        WebhookEndpoint.objects.filter(id=delivery.endpoint_id).update(
            failing_since=None, last_delivered_at=now
        )
        return
    _put_off(delivery, attempted, now)
    _judge_endpoint(delivery.endpoint, attempted, now)


def _put_off(delivery: WebhookDelivery, attempted: Attempted, now: datetime) -> None:
    failures = delivery.failures + 1
    asked_s = attempted.retry_after_s if attempted.status in _SLOW_DOWN else None
    wait = PRACTICE.wait_after(failures, asked_s=asked_s)
    if wait is None:
        _finish(delivery, DeliveryState.DEAD, now, failures=failures)
        return
    WebhookDelivery.objects.filter(id=delivery.id, state=DeliveryState.WAITING).update(
        lease_until=None, failures=failures, due_at=now + wait
    )


def _judge_endpoint(endpoint: WebhookEndpoint, attempted: Attempted, now: datetime) -> None:
    """Disable a receiver that says it is gone, or that has taken nothing for too long."""
    WebhookEndpoint.objects.filter(id=endpoint.id, failing_since=None).update(failing_since=now)
    endpoint.refresh_from_db(fields=["failing_since"])
    failing_for = now - (endpoint.failing_since or now)
    if attempted.status == _GONE:
        reason = DisabledReason.GONE
    elif failing_for >= PRACTICE.disable_after:
        reason = DisabledReason.FAILING
    else:
        return
    services.disable_endpoint(
        actor=system_actor(DELIVERER), endpoint=endpoint, reason=reason, now=now
    )


def _finish(delivery: WebhookDelivery, state: DeliveryState, now: datetime, **fields: int) -> None:
    # Retired or disabled meanwhile: what was ended stays ended, unless it arrived after all.
    rows = WebhookDelivery.objects.filter(id=delivery.id)
    if state is not DeliveryState.DELIVERED:
        rows = rows.filter(state=DeliveryState.WAITING)
    rows.update(state=state, finished_at=now, lease_until=None, **fields)


def register() -> None:
    """Called once by the app when it is ready."""
    outbox.on_any_fact(follow)
    outbox.on_fact(ANNOUNCE, announce)
    registry.register_job(FORGET, _forget, urgency=registry.Urgency.SLOW)
    registry.register_schedule(FORGET, _forgetting_due)
    # It tells of nothing but itself; whoever may register may hear it.
    events.register_event(
        events.EventType(
            name=events.TEST,
            description="Sent on request, to try a receiver",
            needs=Action.WEBHOOK_READ,
            tells=("property",),
            is_visible=lambda _actor, _ids: True,
        ),
        topics=(),
    )

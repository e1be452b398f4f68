"""Register and change receivers of events; tell, rotate and end their secrets."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor, ActorKind
from coop.access.roles import SCOPES, Action
from coop.api.problems import Problem
from coop.audit import writing
from coop.jobs import bell
from coop.outbox import services as outbox
from coop.outbox.webhooks import queries, signing
from coop.outbox.webhooks.events import TEST, event_named
from coop.outbox.webhooks.models import (
    DeliveryState,
    DisabledReason,
    WebhookDelivery,
    WebhookEndpoint,
)
from coop.outbox.webhooks.practice import PRACTICE

WEBHOOK_DISABLED = "webhook.disabled"


class WebhookDisabled(Problem):
    """Nothing is sent to a receiver that is disabled or retired."""

    code = "webhook_disabled"
    title = "The webhook is disabled"


@transaction.atomic
def register_endpoint(
    *, actor: Actor, property_id: UUID, fields: Mapping[str, Any], now: datetime
) -> tuple[WebhookEndpoint, str]:
    """Register a receiver of a property's events; the secret returned is told once.

    Raises ``PermissionDenied`` and ``ValidationError`` by field.
    """
    actor.require(Action.WEBHOOK_WRITE, property_id)
    _check_url(fields["url"])
    _check_event_types(actor, property_id, fields["event_types"])
    endpoint = WebhookEndpoint(
        property_id=property_id, secret_nonce=signing.new_nonce(), **_registrant(actor), **fields
    )
    _check_not_too_many(endpoint)
    writing.create(
        endpoint, actor=actor, action=Action.WEBHOOK_WRITE, now=now, property_id=property_id
    )
    return endpoint, signing.secret_of(endpoint.id, endpoint.secret_nonce)


@transaction.atomic
def change_endpoint(
    *, actor: Actor, endpoint: WebhookEndpoint, changes: Mapping[str, Any], now: datetime
) -> WebhookEndpoint:
    """Change address, description or types of events; for whoever registered it."""
    _require_registrant(actor, endpoint)
    if "url" in changes:
        _check_url(changes["url"])
    if "event_types" in changes:
        _check_event_types(actor, endpoint.property_id, changes["event_types"])
    return _write(actor, endpoint, changes, now)


@transaction.atomic
def rotate_secret(
    *, actor: Actor, endpoint: WebhookEndpoint, now: datetime
) -> tuple[WebhookEndpoint, str]:
    """Give the receiver a new secret, told once; the one before signs too for the overlap."""
    _require_registrant(actor, endpoint)
    endpoint = _locked(endpoint)
    _require_standing(endpoint)
    changes = {
        "previous_nonce": endpoint.secret_nonce,
        "previous_until": now + PRACTICE.secret_overlap,
        "secret_nonce": signing.new_nonce(),
    }
    _write(actor, endpoint, changes, now, reason="secret rotated")
    return endpoint, signing.secret_of(endpoint.id, endpoint.secret_nonce)


def secrets_in_force(endpoint: WebhookEndpoint, now: datetime) -> Sequence[str]:
    """The secret, and the one before it while both are in force; newest first."""
    nonces = [endpoint.secret_nonce]
    if endpoint.previous_until is not None and now < endpoint.previous_until:
        nonces.append(endpoint.previous_nonce)
    return [signing.secret_of(endpoint.id, nonce) for nonce in nonces]


@transaction.atomic
def enable_endpoint(*, actor: Actor, endpoint: WebhookEndpoint, now: datetime) -> WebhookEndpoint:
    """Send to a receiver again that was disabled; what it missed is replayed one by one."""
    actor.require(Action.WEBHOOK_WRITE, endpoint.property_id)
    endpoint = _locked(endpoint)
    if endpoint.retired_at is not None:
        raise WebhookDisabled("This webhook has been retired; register another.")
    if endpoint.disabled_at is None:
        return endpoint
    changes = {"disabled_at": None, "disabled_reason": "", "failing_since": None}
    return _write(actor, endpoint, changes, now)


@transaction.atomic
def retire_endpoint(*, actor: Actor, endpoint: WebhookEndpoint, now: datetime) -> WebhookEndpoint:
    """End a receiver for good: nothing that waits is sent, and its secret signs no more."""
    actor.require(Action.WEBHOOK_WRITE, endpoint.property_id)
    endpoint = _locked(endpoint)
    if endpoint.retired_at is not None:
        return endpoint
    _end_waiting(endpoint, now)
    return _write(actor, endpoint, {"retired_at": now}, now)


@transaction.atomic
def disable_endpoint(
    *, actor: Actor, endpoint: WebhookEndpoint, reason: DisabledReason, now: datetime
) -> None:
    """Stop sending to a receiver; what waits is dead, and its registrant is told by the fact."""
    endpoint = _locked(endpoint)
    if endpoint.disabled_at is not None or endpoint.retired_at is not None:
        return
    _end_waiting(endpoint, now)
    _write(actor, endpoint, {"disabled_at": now, "disabled_reason": reason}, now)
    ids = {"endpoint": endpoint.id, "property": endpoint.property_id}
    outbox.publish(topic=WEBHOOK_DISABLED, ids=ids, now=now)


@transaction.atomic
def send_test(*, actor: Actor, endpoint: WebhookEndpoint, now: datetime) -> WebhookDelivery:
    """Queue a ``webhook.test`` event, which tells of nothing but itself."""
    _require_registrant(actor, endpoint)
    _require_standing(endpoint)
    delivery = WebhookDelivery.objects.create(
        endpoint=endpoint,
        type=TEST,
        data={"property": str(endpoint.property_id)},
        occurred_at=now,
        due_at=now,
    )
    transaction.on_commit(bell.ring_deliveries)
    return delivery


@transaction.atomic
def replay(*, actor: Actor, delivery: WebhookDelivery, now: datetime) -> WebhookDelivery:
    """Send an event again, with the same ``webhook-id`` and the same body; asking twice is once.

    One that waits for its next try is tried now, in the round that it is in.
    """
    actor.require(Action.WEBHOOK_WRITE, delivery.endpoint.property_id)
    _require_standing(delivery.endpoint)
    row = WebhookDelivery.objects.filter(id=delivery.id)
    row.filter(state=DeliveryState.WAITING, due_at__gt=now).update(due_at=now)
    row.exclude(state=DeliveryState.WAITING).update(
        state=DeliveryState.WAITING, due_at=now, failures=0, finished_at=None, lease_until=None
    )
    transaction.on_commit(bell.ring_deliveries)
    delivery.refresh_from_db()
    return delivery


def _registrant(actor: Actor) -> dict[str, Any]:
    if actor.kind is ActorKind.PERSON:
        return {"user_id": UUID(actor.id)}
    if actor.kind is not ActorKind.APPLICATION:
        raise PermissionDenied("webhooks belong to persons and to applications")
    granted = actor.actions or frozenset()
    scopes = sorted(name for name, actions in SCOPES.items() if actions <= granted)
    return {"application_id": UUID(actor.id), "scopes": scopes}


def _check_url(url: str) -> None:
    """The form alone; where the name leads is asked before each attempt."""
    allowed = ("https", "http") if settings.WEBHOOKS_ALLOW_PRIVATE else ("https",)
    if not (url.isascii() and url.isprintable()) or any(each in url for each in ' \\"<>'):
        raise ValidationError({"url": "Must be an address in printable ASCII, without spaces."})
    try:
        parts = urlsplit(url)
        host, _port = parts.hostname, parts.port
    except ValueError:
        raise ValidationError({"url": "Is not a web address."}) from None
    if parts.scheme not in allowed or not host:
        raise ValidationError({"url": "Must begin with https:// and name a host."})
    if parts.username is not None or parts.password is not None or parts.fragment:
        raise ValidationError({"url": "Must hold no user name, password or fragment."})


def _check_event_types(actor: Actor, property_id: UUID, names: Sequence[str]) -> None:
    if not names or len(set(names)) != len(names):
        raise ValidationError({"event_types": "Name at least one type, each once."})
    for name in names:
        event = event_named(name)
        if event is None or not actor.may(event.needs, property_id):
            raise ValidationError(
                {"event_types": f"{name!r} is no type of event, or none that you may read here."}
            )


def _check_not_too_many(endpoint: WebhookEndpoint) -> None:
    standing = WebhookEndpoint.objects.filter(
        property_id=endpoint.property_id,
        user=endpoint.user_id,
        application=endpoint.application_id,
        retired_at=None,
    )
    if standing.count() >= PRACTICE.endpoints_each:
        raise ValidationError(f"At most {PRACTICE.endpoints_each} webhooks on a property.")


def _require_registrant(actor: Actor, endpoint: WebhookEndpoint) -> None:
    actor.require(Action.WEBHOOK_WRITE, endpoint.property_id)
    if not queries.is_registrant(actor=actor, endpoint=endpoint):
        raise PermissionDenied("only whoever registered a webhook changes it")


def _require_standing(endpoint: WebhookEndpoint) -> None:
    if endpoint.disabled_at is not None or endpoint.retired_at is not None:
        raise WebhookDisabled("This webhook is disabled or retired; nothing is sent to it.")


def _end_waiting(endpoint: WebhookEndpoint, now: datetime) -> None:
    waiting = WebhookDelivery.objects.filter(endpoint=endpoint, state=DeliveryState.WAITING)
    waiting.update(state=DeliveryState.DEAD, finished_at=now, lease_until=None)


def _locked(endpoint: WebhookEndpoint) -> WebhookEndpoint:
    WebhookEndpoint.objects.select_for_update().get(id=endpoint.id)
    return WebhookEndpoint.objects.select_related("user", "application").get(id=endpoint.id)


def _write(
    actor: Actor,
    endpoint: WebhookEndpoint,
    changes: Mapping[str, Any],
    now: datetime,
    *,
    reason: str = "",
) -> WebhookEndpoint:
    return writing.change(
        endpoint,
        changes,
        actor=actor,
        action=Action.WEBHOOK_WRITE,
        now=now,
        property_id=endpoint.property_id,
        reason=reason,
    )

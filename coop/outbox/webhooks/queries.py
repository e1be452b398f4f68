"""Endpoints and deliveries that an actor may see, and in whose name events are sent."""

from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor, ActorKind, application_actor, person_actor
from coop.access.roles import SCOPES, Action
from coop.outbox.webhooks.events import EventType, event_named
from coop.outbox.webhooks.models import WebhookDelivery, WebhookEndpoint


def endpoints_visible_to(
    *, actor: Actor, action: Action = Action.WEBHOOK_READ
) -> QuerySet[WebhookEndpoint]:
    """A manager's: all of the property, so that they know who hears of it. An application's own."""
    rows = WebhookEndpoint.objects.select_related("user", "application")
    if actor.is_system:
        return rows
    if actor.kind is ActorKind.APPLICATION:
        return rows.filter(application=UUID(actor.id), property_id__in=actor.properties_for(action))
    return rows.filter(property_id__in=actor.properties_for(Action.WEBHOOK_MANAGE))


def deliveries_visible_to(
    *, actor: Actor, action: Action = Action.WEBHOOK_READ
) -> QuerySet[WebhookDelivery]:
    endpoints = endpoints_visible_to(actor=actor, action=action)
    return WebhookDelivery.objects.filter(endpoint__in=endpoints.values("id"))


def is_registrant(*, actor: Actor, endpoint: WebhookEndpoint) -> bool:
    if actor.kind is ActorKind.APPLICATION:
        return str(endpoint.application_id) == actor.id
    return actor.kind is ActorKind.PERSON and str(endpoint.user_id) == actor.id


def registrant_of(endpoint: WebhookEndpoint) -> Actor | None:
    """Who registered it, with the roles, shares and scopes that they hold now.

    None for an account that was closed.
    """
    if endpoint.application is not None:
        actions = frozenset().union(*(SCOPES.get(scope, frozenset()) for scope in endpoint.scopes))
        return application_actor(endpoint.application.id, endpoint.application.name, actions)
    if endpoint.user is None or not endpoint.user.is_active:
        return None
    return person_actor(endpoint.user.id, endpoint.registered_by)


def may_hear(endpoint: WebhookEndpoint, event: EventType, ids: dict[str, str]) -> bool:
    """Whether the API would show its registrant the object of an event now."""
    actor = registrant_of(endpoint)
    if actor is None or not actor.may(Action.WEBHOOK_READ, endpoint.property_id):
        return False
    return actor.may(event.needs, endpoint.property_id) and event.is_visible(actor, ids)


def may_be_sent(delivery: WebhookDelivery) -> bool:
    """Asked again before every attempt: what was revoked meanwhile stays unsent."""
    event = event_named(delivery.type)
    return event is not None and may_hear(delivery.endpoint, event, delivery.data)

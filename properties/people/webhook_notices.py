"""Tell whoever registered a webhook, by letter, that it was disabled."""

from collections.abc import Mapping
from datetime import datetime

from coop.access.roles import Role
from coop.outbox import services as outbox
from coop.outbox.webhooks.models import DisabledReason, WebhookEndpoint
from coop.outbox.webhooks.practice import PRACTICE
from properties.land.models import Property
from properties.people.models import Outfitter
from properties.people.queries import holders_of

_WHY = {
    DisabledReason.GONE: "the receiver answered 410: it is gone",
    DisabledReason.FAILING: (
        f"the receiver has taken nothing for {PRACTICE.disable_after.days} days"
    ),
}


def webhook_disabled(ids: Mapping[str, str], now: datetime) -> None:
    """``webhook.disabled``: to the person, or to the outfitter whose application it is.

    An outfitter without an address is told through the cooperative's coordinators.
    """
    endpoint = WebhookEndpoint.objects.select_related("user", "application").get(id=ids["endpoint"])
    if endpoint.disabled_at is None:
        return
    land = Property.objects.get(id=endpoint.property_id)
    for address in _addresses(endpoint):
        outbox.write_message(
            once_key=f"webhook:{endpoint.id}:{endpoint.disabled_at.isoformat()}:{address}"[:200],
            recipient=address,
            subject=f"{land.name}: a webhook was disabled",
            text=_text(endpoint, land),
            cooperative_id=land.cooperative_id,
            now=now,
        )


def _addresses(endpoint: WebhookEndpoint) -> list[str]:
    if endpoint.user is not None:
        return [endpoint.user.email]
    outfitter = Outfitter.objects.filter(application=endpoint.application).first()
    if outfitter is not None and outfitter.contact_email:
        return [outfitter.contact_email]
    coordinators = holders_of(role=Role.COORDINATOR, property_id=endpoint.property_id)
    return sorted(coordinators.exclude(email="").values_list("email", flat=True))


def _text(endpoint: WebhookEndpoint, land: Property) -> str:
    why = _WHY[DisabledReason(endpoint.disabled_reason)]
    return (
        f"Events of {land.name} are no longer sent to {endpoint.url}, registered by "
        f"{endpoint.registered_by}: {why}.\n\n"
        f"Once the receiver answers again, enable the webhook "
        f"(POST /api/v1/webhooks/{endpoint.id}/enable/), replay what it missed from "
        f"/api/v1/webhook-deliveries/, and read the rest from the API."
    )

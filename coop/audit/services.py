"""Write the audit record. Services call this inside the transaction of what they do."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

from django.db.models import Model
from django.forms.models import model_to_dict

from coop.audit.models import AuditEvent
from coop.telemetry import context


class Who(Protocol):
    """Whoever acts: ``coop.access`` has the real thing, which this room does not know."""

    @property
    def kind(self) -> str: ...
    @property
    def id(self) -> str: ...
    @property
    def name(self) -> str: ...


Follower = Callable[[AuditEvent, Model], None]
_followers: list[Follower] = []


def on_record(follower: Follower) -> None:
    """Call ``follower(event, target)`` with every event, in the transaction of its cause.

    For what must be known of every write, whoever made it; rooms above register when ready.
    """
    if follower not in _followers:
        _followers.append(follower)


def record(
    *,
    actor: Who,
    action: str,
    target: Model,
    now: datetime,
    property_id: UUID | None = None,
    before: Mapping[str, Any] | None = None,
    reason: str = "",
) -> AuditEvent:
    """Append one event; ``before`` is a :func:`snapshot` taken before the change."""
    event = AuditEvent.objects.create(
        recorded_at=now,
        actor_kind=str(actor.kind),
        actor_id=actor.id,
        actor_name=actor.name,
        action=action,
        object_kind=target._meta.label_lower,
        object_id=str(target.pk),
        property_id=property_id,
        reason=reason,
        before=dict(before or {}),
        after=snapshot(target),
        request_id=context.request_id.get(),
    )
    for follower in _followers:
        follower(event, target)
    return event


def snapshot(target: Model) -> dict[str, Any]:
    """The stored fields of an object as JSON values; secrets are never among them.

    Nor is what a joint plan says of people and stands, for the record of one property is not
    read by whoever manages the other alone.
    """
    hidden = {"password", "digest", "client_secret", "html", "pdf", "appendix_html"}
    hidden |= {"problem", "result", "explanations", "relaxations"}
    values = model_to_dict(target)
    return {name: _plain(value) for name, value in values.items() if name not in hidden}


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, Model):
        return str(value.pk)
    return str(value)

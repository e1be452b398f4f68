"""What receivers of webhooks hear of stands: the ids, and only for whoever may read them."""

from collections.abc import Mapping

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.outbox.webhooks.events import EventType, register_event
from properties.stands.queries import stands_visible_to
from properties.stands.services import STAND_CLOSED, STAND_OPENED


def register() -> None:
    """Called once by the floor when it is ready."""
    for name, topic, description in (
        ("stand.closed", STAND_CLOSED, "A stand was closed or taken out of use"),
        ("stand.opened", STAND_OPENED, "A closed stand was opened again"),
    ):
        event = EventType(
            name=name,
            description=description,
            needs=Action.STAND_READ,
            tells=("property", "stand"),
            is_visible=_sees_stand,
        )
        register_event(event, topics=(topic,))


def _sees_stand(actor: Actor, ids: Mapping[str, str]) -> bool:
    return stands_visible_to(actor=actor).filter(id=ids["stand"]).exists()

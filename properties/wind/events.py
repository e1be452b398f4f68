"""What receivers of webhooks hear of the wind: that a property's fits were computed anew."""

from uuid import UUID

from coop.access.roles import Action
from coop.outbox.webhooks.events import EventType, register_event
from properties.wind.jobs import FITS_COMPUTED


def register() -> None:
    """Called once by the floor when it is ready."""
    event = EventType(
        name="fits.computed",
        description="Fits of a property's stands were computed anew, for today and a week ahead",
        needs=Action.FIT_READ,
        tells=("property",),
        is_visible=lambda actor, ids: actor.may(Action.FIT_READ, UUID(ids["property"])),
    )
    register_event(event, topics=(FITS_COMPUTED,))

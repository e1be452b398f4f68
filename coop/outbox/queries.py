"""Messages that an actor may see: a coordinator's, of their cooperative."""

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped_to_cooperatives
from coop.outbox.models import Message


def messages_visible_to(*, actor: Actor) -> QuerySet[Message]:
    return scoped_to_cooperatives(
        Message.objects.all(), actor=actor, action=Action.MESSAGE_READ, field="cooperative_id"
    )

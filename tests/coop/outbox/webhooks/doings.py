"""What tests of deliveries do: close a stand, book a sit."""

from datetime import timedelta

from coop.outbox import services as outbox
from properties.stands.services import close_stand
from scheduling.sits.booking_services import SIT_BOOKED
from scheduling.sits.models import Sit


def manager(stage):
    return stage.cast.actor(stage.cast.manager)


def close(stage, stand):
    actor = stage.cast.actor(stage.cast.manager)
    return close_stand(actor=actor, stand=stand, reason="Rotten rung", now=stage.now)


def make_sit(stage, stand, **fields):
    return Sit.objects.create(
        property=stand.property,
        stand=stand,
        local_date=stage.now.date(),
        span="evening",
        starts_at=stage.now + timedelta(hours=2),
        ends_at=stage.now + timedelta(hours=6),
        weapon="bow",
        **fields,
    )


def booked(stage, sit):
    ids = {"sit": sit.id, "property": sit.property_id, "stand": sit.stand_id}
    outbox.publish(topic=SIT_BOOKED, ids={**ids, "person": sit.person_id}, now=stage.now)

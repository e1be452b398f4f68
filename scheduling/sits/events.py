"""What receivers of webhooks hear of sits: ids, and only of sits that the API shows them.

A manager hears of everybody's on the property, an outfitter's application of its clients'.
"""

from collections.abc import Mapping

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.outbox.webhooks.events import EventType, register_event
from scheduling.sits.booking_services import SIT_BOOKED
from scheduling.sits.harvest_plan_services import HARVEST_CLASS_FILLED
from scheduling.sits.life_services import (
    SIT_CANCELLED,
    SIT_CHANGED,
    SIT_CHECKED_IN,
    SIT_CHECKED_OUT,
    SIT_MISSED,
)
from scheduling.sits.queries import harvest_plans_visible_to, sits_visible_to
from scheduling.sits.report_services import REPORT_CORRECTED, SIT_REPORTED

# Its writer stands above this module's readers; a topic is a word that escapes the contracts.
_HANDED_OVER = "sit.handed_over"
_CHANGES = (
    SIT_CHANGED,
    SIT_CHECKED_IN,
    SIT_CHECKED_OUT,
    SIT_MISSED,
    SIT_REPORTED,
    REPORT_CORRECTED,
    _HANDED_OVER,
)


def register() -> None:
    """Called once by the room when it is ready."""
    for name, topics, description in (
        ("sit.booked", (SIT_BOOKED,), "A seat was booked, by hand or by a published plan"),
        (
            "sit.changed",
            _CHANGES,
            "A sit changed its stand or person, was checked in or out, missed or reported, or its "
            "report was corrected",
        ),
        ("sit.cancelled", (SIT_CANCELLED,), "A booked seat was given back or taken away"),
    ):
        event = EventType(
            name=name,
            description=description,
            needs=Action.SIT_READ,
            tells=("property", "sit", "stand"),
            is_visible=_sees_sit,
        )
        register_event(event, topics=topics)
    register_event(
        EventType(
            name=HARVEST_CLASS_FILLED,
            description="As many deer of a class are recorded as the property planned",
            needs=Action.HARVEST_READ,
            tells=("property", "plan"),
            is_visible=_sees_plan,
        ),
        topics=(HARVEST_CLASS_FILLED,),
    )


def _sees_plan(actor: Actor, ids: Mapping[str, str]) -> bool:
    return harvest_plans_visible_to(actor=actor).filter(id=ids["plan"]).exists()


def _sees_sit(actor: Actor, ids: Mapping[str, str]) -> bool:
    return sits_visible_to(actor=actor).filter(id=ids["sit"]).exists()

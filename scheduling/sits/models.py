"""What most of the house knows of this room: seats, who asks for them, what came of them."""

from scheduling.sits.deer_kinds import KNOWN_SEXES, AgeClass, DeerSex, HarvestClass
from scheduling.sits.harvest_models import Harvest, HarvestPlan
from scheduling.sits.report_models import AlarmSense, DeerAlarm, Sighting, SitReport
from scheduling.sits.request_models import Client, SitRequest
from scheduling.sits.seat_models import (
    SESSION_KINDS,
    STANDING_STATES,
    SeatClaim,
    Sit,
    SitOrigin,
    SitSpan,
    SitState,
)

__all__ = [
    "KNOWN_SEXES",
    "SESSION_KINDS",
    "STANDING_STATES",
    "AgeClass",
    "AlarmSense",
    "Client",
    "DeerAlarm",
    "DeerSex",
    "Harvest",
    "HarvestClass",
    "HarvestPlan",
    "SeatClaim",
    "Sighting",
    "Sit",
    "SitOrigin",
    "SitReport",
    "SitRequest",
    "SitSpan",
    "SitState",
]

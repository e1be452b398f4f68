"""Gathers the models of this floor's rooms for Django; no room imports this."""

from scheduling.errands.models import Errand
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.sits.calendar_models import CalendarFeed, FormerHolding
from scheduling.sits.models import (
    Client,
    DeerAlarm,
    Harvest,
    HarvestPlan,
    SeatClaim,
    Sighting,
    Sit,
    SitReport,
    SitRequest,
)
from scheduling.sits.overdue_models import OverdueNotice
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.waiting_models import WaitingEntry

__all__ = [
    "CalendarFeed",
    "Client",
    "DeerAlarm",
    "Errand",
    "FormerHolding",
    "Harvest",
    "HarvestPlan",
    "OverdueNotice",
    "PlannedSeat",
    "RotationPlan",
    "SeatClaim",
    "Sighting",
    "Sit",
    "SitReport",
    "SitRequest",
    "SitTransfer",
    "WaitingEntry",
]

"""Gathers the models of this floor's rooms for Django; no room imports this."""

from scheduling.errands.models import Errand
from scheduling.herd.models import CameraSurvey
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.sits.calendar_models import CalendarFeed, FormerHolding
from scheduling.sits.closure_models import ClosedSit, ClosureOutcome
from scheduling.sits.harvest_models import HarvestPlace, Tag
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
from scheduling.sits.objection_models import SitObjection
from scheduling.sits.overdue_models import OverdueNotice
from scheduling.sits.transfer_models import SitTransfer
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sync.models import Change, ChangeCount
from scheduling.tracking.models import Neighbour, Tracker, TrackerNotice, Tracking
from scheduling.worklist.models import WorkItem, WorkTemplate

__all__ = [
    "CalendarFeed",
    "CameraSurvey",
    "Change",
    "ChangeCount",
    "Client",
    "ClosedSit",
    "ClosureOutcome",
    "DeerAlarm",
    "Errand",
    "FormerHolding",
    "Harvest",
    "HarvestPlace",
    "HarvestPlan",
    "Neighbour",
    "OverdueNotice",
    "PlannedSeat",
    "RotationPlan",
    "SeatClaim",
    "Sighting",
    "Sit",
    "SitObjection",
    "SitReport",
    "SitRequest",
    "SitTransfer",
    "Tag",
    "Tracker",
    "TrackerNotice",
    "Tracking",
    "WaitingEntry",
    "WorkItem",
    "WorkTemplate",
]

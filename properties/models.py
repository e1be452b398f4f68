"""Gathers the models of this floor's rooms for Django; no room imports this."""

from properties.conditions.models import Condition
from properties.emergency.models import (
    Emergency,
    EmergencySheet,
    MedicalNote,
    NoteReading,
    StandEmergency,
)
from properties.gates.models import DrivingDirections, Gate, GateCode, ParkingPlace
from properties.incidents.models import (
    Equipment,
    EvidenceContent,
    EvidenceFile,
    FollowUp,
    Incident,
)
from properties.land.models import Closure, Cooperative, Feature, Property
from properties.leases.models import Lease, Rent
from properties.obligations.models import Due, WorkDay
from properties.people.models import (
    Member,
    Outfitter,
    Paper,
    Person,
    PropertyShare,
    RoleGrant,
)
from properties.people.youth_models import YouthRecord
from properties.regulations.models import Regulation
from properties.sessions.models import Season
from properties.stands.models import Inspection, Stand, StandExclusion
from properties.wind.models import (
    FitCalibration,
    ForecastIssue,
    ObservedHour,
    SessionFit,
    StandWind,
    WindHistory,
)

__all__ = [
    "Closure",
    "Condition",
    "Cooperative",
    "DrivingDirections",
    "Due",
    "Emergency",
    "EmergencySheet",
    "Equipment",
    "EvidenceContent",
    "EvidenceFile",
    "Feature",
    "FitCalibration",
    "FollowUp",
    "ForecastIssue",
    "Gate",
    "GateCode",
    "Incident",
    "Inspection",
    "Lease",
    "MedicalNote",
    "Member",
    "NoteReading",
    "ObservedHour",
    "Outfitter",
    "Paper",
    "ParkingPlace",
    "Person",
    "Property",
    "PropertyShare",
    "Regulation",
    "Rent",
    "RoleGrant",
    "Season",
    "SessionFit",
    "Stand",
    "StandEmergency",
    "StandExclusion",
    "StandWind",
    "WindHistory",
    "WorkDay",
    "YouthRecord",
]

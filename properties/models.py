"""Gathers the models of this floor's rooms for Django; no room imports this."""

from properties.conditions.models import Condition
from properties.land.models import Closure, Cooperative, Feature, Property
from properties.people.models import (
    Member,
    Outfitter,
    Paper,
    Person,
    PropertyShare,
    RoleGrant,
)
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
    "Feature",
    "FitCalibration",
    "ForecastIssue",
    "Inspection",
    "Member",
    "ObservedHour",
    "Outfitter",
    "Paper",
    "Person",
    "Property",
    "PropertyShare",
    "RoleGrant",
    "Season",
    "SessionFit",
    "Stand",
    "StandExclusion",
    "StandWind",
    "WindHistory",
]

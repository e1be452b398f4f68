"""The one table of who may do what.

A role is held on a property (a coordinator holds theirs on every property of the
cooperative). Whatever is not in the table is refused. Rows are read by people who review
access, so each action stands on one line.
"""

from enum import StrEnum


class Role(StrEnum):
    COORDINATOR = "coordinator"
    MANAGER = "manager"
    MEMBER = "member"
    LANDOWNER = "landowner"
    APPLICATION = "application"


class Action(StrEnum):
    """``resource:verb``; the verb says what happens, not which HTTP method asks for it."""

    COOPERATIVE_READ = "cooperative:read"
    COOPERATIVE_WRITE = "cooperative:write"
    PROPERTY_READ = "property:read"
    PROPERTY_WRITE = "property:write"
    SETTING_READ = "setting:read"
    HOUSE_RULE_READ = "house_rule:read"
    CLOSURE_READ = "closure:read"
    CLOSURE_WRITE = "closure:write"
    CLOSURE_OUTCOME = "closure:outcome"
    LAND_CALENDAR_READ = "land_calendar:read"
    LAND_TODAY_READ = "land_today:read"
    CONDITION_READ = "condition:read"
    CONDITION_WRITE = "condition:write"
    INCIDENT_REPORT = "incident:report"
    INCIDENT_READ = "incident:read"
    INCIDENT_WRITE = "incident:write"
    INCIDENT_TOLD = "incident:told"
    EQUIPMENT_READ = "equipment:read"
    EQUIPMENT_WRITE = "equipment:write"
    FEATURE_READ = "feature:read"
    FEATURE_WRITE = "feature:write"
    PERSON_READ = "person:read"
    PERSON_CREATE = "person:create"
    PERSON_CONTACT = "person:contact"
    PERSON_WRITE = "person:write"
    PERSON_ERASE = "person:erase"
    GUEST_WRITE = "guest:write"
    MEMBER_READ = "member:read"
    DUE_READ = "due:read"
    DUE_WRITE = "due:write"
    WORK_DAY_READ = "work_day:read"
    WORK_DAY_WRITE = "work_day:write"
    STANDING_READ = "standing:read"
    BULK_ENTRY = "bulk_entry:write"
    YOUTH_READ = "youth:read"
    YOUTH_WRITE = "youth:write"
    MEMBER_WRITE = "member:write"
    ROLE_READ = "role:read"
    ROLE_WRITE = "role:write"
    OUTFITTER_READ = "outfitter:read"
    OUTFITTER_WRITE = "outfitter:write"
    STAND_READ = "stand:read"
    STAND_WRITE = "stand:write"
    INSPECTION_READ = "inspection:read"
    EXCLUSION_READ = "exclusion:read"
    GATE_READ = "gate:read"
    GATE_WRITE = "gate:write"
    GATE_CODE_READ = "gate_code:read"
    GATE_CODE_ON_DAY = "gate_code:read_on_the_day"
    EMERGENCY_SHEET_READ = "emergency_sheet:read"
    EMERGENCY_SHEET_WRITE = "emergency_sheet:write"
    EMERGENCY_READ = "emergency:read"
    EMERGENCY_DECLARE = "emergency:declare"
    LEASE_READ = "lease:read"
    LEASE_TERMS_READ = "lease_terms:read"
    LEASE_WRITE = "lease:write"
    SEASON_READ = "season:read"
    SEASON_WRITE = "season:write"
    REGULATION_READ = "regulation:read"
    REGULATION_WRITE = "regulation:write"
    SESSION_READ = "session:read"
    WIND_READ = "wind:read"
    WIND_WRITE = "wind:write"
    STAND_WIND_READ = "stand_wind:read"
    CALIBRATION_READ = "calibration:read"
    FIT_READ = "fit:read"
    SCRAPE_READ = "scrape:read"
    SCRAPE_WRITE = "scrape:write"
    CAMERA_READ = "camera:read"
    CAMERA_WRITE = "camera:write"
    OBSERVATION_READ = "observation:read"
    OBSERVATION_WRITE = "observation:write"
    VISIT_READ = "visit:read"
    SCENT_WRITE = "scent:write"
    REQUEST_READ = "request:read"
    REQUEST_WRITE = "request:write"
    ROSTER_READ = "roster:read"
    SIT_READ = "sit:read"
    SIT_BOOK = "sit:book"
    SIT_MANAGE = "sit:manage"
    HARVEST_READ = "harvest:read"
    HARVEST_EXPORT = "harvest:export"
    TAG_READ = "tag:read"
    TAG_WRITE = "tag:write"
    HERD_READ = "herd:read"
    HERD_WRITE = "herd:write"
    TRACKING_READ = "tracking:read"
    TRACKING_JOIN = "tracking:join"
    NEIGHBOUR_READ = "neighbour:read"
    NEIGHBOUR_WRITE = "neighbour:write"
    ROTATION_READ = "rotation:read"
    ROTATION_WRITE = "rotation:write"
    ERRAND_READ = "errand:read"
    ERRAND_DO = "errand:do"
    ERRAND_WRITE = "errand:write"
    WORKLIST_READ = "worklist:read"
    WORKLIST_WRITE = "worklist:write"
    REPORT_READ = "report:read"
    REPORT_APPENDIX = "report:appendix"
    REPORT_WRITE = "report:write"
    SEASON_REPORT_READ = "season_report:read"
    SEASON_REPORT_WRITE = "season_report:write"
    WEEK_AHEAD_READ = "week_ahead:read"
    LAND_NOTE_READ = "land_note:read"
    LAND_NOTE_WRITE = "land_note:write"
    JOB_READ = "job:read"
    JOB_START = "job:start"
    MESSAGE_READ = "message:read"
    MESSAGE_SEND = "message:send"
    WEBHOOK_READ = "webhook:read"
    WEBHOOK_WRITE = "webhook:write"
    WEBHOOK_MANAGE = "webhook:manage"
    AUDIT_READ = "audit:read"


_C, _M, _B, _L, _A = (
    Role.COORDINATOR,
    Role.MANAGER,
    Role.MEMBER,
    Role.LANDOWNER,
    Role.APPLICATION,
)

PERMISSIONS: dict[Action, frozenset[Role]] = {
    Action.COOPERATIVE_READ: frozenset({_C, _M, _B, _L}),
    Action.COOPERATIVE_WRITE: frozenset({_C}),
    Action.PROPERTY_READ: frozenset({_C, _M, _B, _L, _A}),
    Action.PROPERTY_WRITE: frozenset({_C, _M}),
    Action.SETTING_READ: frozenset({_C, _M}),
    Action.HOUSE_RULE_READ: frozenset({_C, _M, _B, _L, _A}),
    Action.CLOSURE_READ: frozenset({_C, _M, _B, _L, _A}),
    Action.CLOSURE_WRITE: frozenset({_C, _M, _L}),
    Action.CLOSURE_OUTCOME: frozenset({_C, _M, _L}),
    Action.LAND_CALENDAR_READ: frozenset({_C, _M, _B, _L}),
    Action.LAND_TODAY_READ: frozenset({_C, _M, _L}),
    Action.CONDITION_READ: frozenset({_C, _M, _B, _L}),
    Action.CONDITION_WRITE: frozenset({_C, _M, _L}),
    Action.INCIDENT_REPORT: frozenset({_C, _M, _B, _L}),
    Action.INCIDENT_READ: frozenset({_C, _M}),
    Action.INCIDENT_WRITE: frozenset({_C, _M}),
    Action.INCIDENT_TOLD: frozenset({_C, _M, _L}),
    Action.EQUIPMENT_READ: frozenset({_C, _M}),
    Action.EQUIPMENT_WRITE: frozenset({_C, _M}),
    Action.FEATURE_READ: frozenset({_C, _M, _B}),
    Action.FEATURE_WRITE: frozenset({_C, _M}),
    Action.PERSON_READ: frozenset({_C, _M, _B, _L}),
    Action.PERSON_CREATE: frozenset({_C}),
    Action.PERSON_CONTACT: frozenset({_C, _M}),
    Action.PERSON_WRITE: frozenset({_C, _M}),
    Action.PERSON_ERASE: frozenset({_C}),
    Action.GUEST_WRITE: frozenset({_C, _M, _B}),
    Action.MEMBER_READ: frozenset({_C, _M}),
    # Beside the coordinator only the member reads what they owe.
    Action.DUE_READ: frozenset({_C}),
    Action.DUE_WRITE: frozenset({_C}),
    Action.WORK_DAY_READ: frozenset({_C, _M}),
    Action.WORK_DAY_WRITE: frozenset({_C, _M}),
    Action.STANDING_READ: frozenset({_C, _M, _B}),
    Action.BULK_ENTRY: frozenset({_C}),
    Action.YOUTH_READ: frozenset({_C, _M}),
    Action.YOUTH_WRITE: frozenset({_C, _M}),
    Action.MEMBER_WRITE: frozenset({_C}),
    Action.ROLE_READ: frozenset({_C, _M}),
    Action.ROLE_WRITE: frozenset({_C}),
    Action.OUTFITTER_READ: frozenset({_C, _M}),
    Action.OUTFITTER_WRITE: frozenset({_C}),
    Action.STAND_READ: frozenset({_C, _M, _B, _A}),
    Action.STAND_WRITE: frozenset({_C, _M}),
    Action.INSPECTION_READ: frozenset({_C, _M, _B}),
    Action.EXCLUSION_READ: frozenset({_C, _M, _B}),
    Action.GATE_READ: frozenset({_C, _M, _B}),
    Action.GATE_WRITE: frozenset({_C, _M}),
    Action.GATE_CODE_READ: frozenset({_C, _M}),
    Action.GATE_CODE_ON_DAY: frozenset({_C, _M, _B}),
    Action.EMERGENCY_SHEET_READ: frozenset({_C, _M, _B}),
    Action.EMERGENCY_SHEET_WRITE: frozenset({_C, _M}),
    Action.EMERGENCY_READ: frozenset({_C, _M}),
    Action.EMERGENCY_DECLARE: frozenset({_C, _M, _B}),
    # Whole leases, with their rent: a landowner reads only their own (properties/leases/queries).
    Action.LEASE_READ: frozenset({_C, _M, _L}),
    Action.LEASE_TERMS_READ: frozenset({_C, _M, _B, _L}),
    Action.LEASE_WRITE: frozenset({_C, _M}),
    Action.SEASON_READ: frozenset({_C, _M, _B, _L, _A}),
    Action.SEASON_WRITE: frozenset({_C, _M}),
    Action.REGULATION_READ: frozenset({_C, _M, _B, _L, _A}),
    Action.REGULATION_WRITE: frozenset({_C, _M}),
    Action.SESSION_READ: frozenset({_C, _M, _B, _L, _A}),
    Action.WIND_READ: frozenset({_C, _M, _B, _A}),
    Action.WIND_WRITE: frozenset({_C, _M}),
    Action.STAND_WIND_READ: frozenset({_C, _M, _B}),
    Action.CALIBRATION_READ: frozenset({_C, _M}),
    Action.FIT_READ: frozenset({_C, _M, _B, _A}),
    Action.SCRAPE_READ: frozenset({_C, _M, _B}),
    Action.SCRAPE_WRITE: frozenset({_C, _M}),
    Action.CAMERA_READ: frozenset({_C, _M}),
    Action.CAMERA_WRITE: frozenset({_C, _M}),
    Action.OBSERVATION_READ: frozenset({_C, _M}),
    Action.OBSERVATION_WRITE: frozenset({_C, _M}),
    Action.VISIT_READ: frozenset({_C, _M, _B}),
    Action.SCENT_WRITE: frozenset({_C, _M, _B}),
    Action.REQUEST_READ: frozenset({_C, _M, _B}),
    Action.REQUEST_WRITE: frozenset({_C, _M, _B}),
    Action.ROSTER_READ: frozenset({_C, _M, _B, _L}),
    Action.SIT_READ: frozenset({_C, _M, _B, _A}),
    Action.SIT_BOOK: frozenset({_C, _M, _B, _A}),
    Action.SIT_MANAGE: frozenset({_C, _M}),
    Action.HARVEST_READ: frozenset({_C, _M, _B, _L}),
    Action.HARVEST_EXPORT: frozenset({_C, _M}),
    Action.TAG_READ: frozenset({_C, _M}),
    Action.TAG_WRITE: frozenset({_C, _M, _B}),
    Action.HERD_READ: frozenset({_C, _M, _B}),
    Action.HERD_WRITE: frozenset({_C, _M}),
    Action.TRACKING_READ: frozenset({_C, _M, _B}),
    Action.TRACKING_JOIN: frozenset({_C, _M, _B}),
    Action.NEIGHBOUR_READ: frozenset({_C, _M}),
    Action.NEIGHBOUR_WRITE: frozenset({_C, _M}),
    Action.ROTATION_READ: frozenset({_C, _M, _B}),
    Action.ROTATION_WRITE: frozenset({_C, _M}),
    Action.ERRAND_READ: frozenset({_C, _M, _B}),
    Action.ERRAND_DO: frozenset({_C, _M, _B}),
    Action.ERRAND_WRITE: frozenset({_C, _M}),
    Action.WORKLIST_READ: frozenset({_C, _M}),
    Action.WORKLIST_WRITE: frozenset({_C, _M}),
    Action.REPORT_READ: frozenset({_C, _M, _L}),
    Action.REPORT_APPENDIX: frozenset({_C, _M}),
    Action.REPORT_WRITE: frozenset({_C, _M}),
    Action.SEASON_REPORT_READ: frozenset({_C}),
    Action.SEASON_REPORT_WRITE: frozenset({_C}),
    Action.WEEK_AHEAD_READ: frozenset({_C, _M}),
    Action.LAND_NOTE_READ: frozenset({_C, _M, _L}),
    Action.LAND_NOTE_WRITE: frozenset({_C, _M}),
    Action.JOB_READ: frozenset({_C, _M}),
    Action.JOB_START: frozenset({_C, _M}),
    Action.MESSAGE_READ: frozenset({_C}),
    Action.MESSAGE_SEND: frozenset({_C}),
    Action.WEBHOOK_READ: frozenset({_C, _M, _A}),
    Action.WEBHOOK_WRITE: frozenset({_C, _M, _A}),
    Action.WEBHOOK_MANAGE: frozenset({_C, _M}),
    Action.AUDIT_READ: frozenset({_C}),
}

SCOPES: dict[str, frozenset[Action]] = {
    "offers": frozenset(
        {
            Action.PROPERTY_READ,
            Action.HOUSE_RULE_READ,
            Action.CLOSURE_READ,
            Action.STAND_READ,
            Action.SEASON_READ,
            Action.REGULATION_READ,
            Action.SESSION_READ,
            Action.WIND_READ,
            Action.FIT_READ,
        }
    ),
    "sits": frozenset({Action.SIT_READ, Action.SIT_BOOK}),
    "webhooks": frozenset({Action.WEBHOOK_READ, Action.WEBHOOK_WRITE}),
}
"""What each OAuth 2 scope lets an application do, within its role."""


def roles_allowed(action: Action) -> frozenset[Role]:
    """The roles that may take ``action``; empty for one that is not in the table."""
    return PERMISSIONS.get(action, frozenset())


def scope_of(action: Action) -> str | None:
    """The OAuth 2 scope that lets an application take ``action``; ``None`` where none does."""
    return next((scope for scope, actions in SCOPES.items() if action in actions), None)

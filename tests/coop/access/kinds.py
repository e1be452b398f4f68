"""What a caller may see of the world's objects: by the permission table, or because it is theirs.

``Kind.read`` is the row of the table that shows an object of the kind on a property. Where a
caller sees or does more or less than that row says, the reason stands beside it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from coop.access.roles import SCOPES, Action, Role, roles_allowed


@dataclass(frozen=True, kw_only=True)
class Caller:
    """Somebody who knocks: the roles they hold by place, and what narrows them."""

    roles: Mapping[str, frozenset[Role]] = field(default_factory=dict)
    actions: frozenset[Action] | None = None

    def may(self, action: Action, place: str) -> bool:
        in_scope = self.actions is None or action in self.actions
        return in_scope and bool(self.roles.get(place, frozenset()) & roles_allowed(action))

    def may_in_cooperative(self, action: Action, place: str) -> bool:
        """Whoever belongs to one property of a cooperative belongs to the cooperative."""
        together = ("foreign",) if place == "foreign" else ("north", "south")
        persons = self.actions is None
        return persons and any(self.may(action, each) for each in together)


ALL_SCOPES = frozenset().union(*SCOPES.values())
ON_NORTH = "north"

CALLERS: dict[str, Caller] = {
    "coordinator": Caller(roles=dict.fromkeys(("north", "south"), frozenset({Role.COORDINATOR}))),
    "manager": Caller(roles={ON_NORTH: frozenset({Role.MANAGER})}),
    "member": Caller(roles={ON_NORTH: frozenset({Role.MEMBER})}),
    "landowner": Caller(roles={ON_NORTH: frozenset({Role.LANDOWNER})}),
    "stranger": Caller(roles={"foreign": frozenset({Role.MANAGER, Role.MEMBER})}),
    "revoked": Caller(),
    "application": Caller(roles={ON_NORTH: frozenset({Role.APPLICATION})}, actions=ALL_SCOPES),
    "application for offers only": Caller(
        roles={ON_NORTH: frozenset({Role.APPLICATION})}, actions=SCOPES["offers"]
    ),
    "application for sits only": Caller(
        roles={ON_NORTH: frozenset({Role.APPLICATION})}, actions=SCOPES["sits"]
    ),
}
NOT_ASKED = {
    "application for offers only": ("south", "foreign"),
    "application for sits only": ("south", "foreign"),
    "manager": ("foreign",),
    "landowner": ("foreign",),
}
"""Places about which somebody else is asked who knows no less of them: the application with
all scopes, and the member."""
UNKNOWN_CALLERS = (
    "anonymous",
    "expired token",
    "revoked token",
    "expired application token",
    "made-up token",
)


@dataclass(frozen=True, kw_only=True)
class Kind:
    """How objects of a kind are seen; ``owner`` is a caller who sees it without any role.

    ``or_read`` is another row that shows it as well.
    ``of_cooperative``: it belongs to the whole cooperative, not to one property.
    ``owner_needs`` narrows the owner by the scopes of an application. ``private``: nobody
    but the owner sees it.
    """

    read: Action
    or_read: Action | None = None
    of_cooperative: bool = False
    owner: str = ""
    owner_needs: Action | None = None
    reason: str = ""
    private: bool = False

    def seen_by(self, name: str, place: str) -> bool:
        caller = CALLERS[name]
        if self.is_owned_by(name):
            return True
        if self.private:
            return False
        if self.of_cooperative:
            return caller.may_in_cooperative(self.read, place)
        also = self.or_read is not None and caller.may(self.or_read, place)
        return also or caller.may(self.read, place)

    def is_owned_by(self, name: str) -> bool:
        caller = CALLERS[name]
        if self.owner_needs is not None and not caller.may(self.owner_needs, ON_NORTH):
            return False
        return bool(self.owner) and name.startswith(self.owner)


_OWN = "one's own"
OTHERS_SITS = "members see their own sits; everybody's are the manager's"

KINDS: dict[str, Kind] = {
    "cooperative": Kind(read=Action.COOPERATIVE_READ, of_cooperative=True),
    "property": Kind(read=Action.PROPERTY_READ),
    "land_of_sits": Kind(
        read=Action.PROPERTY_READ,
        or_read=Action.SIT_READ,
        reason="a property, named by an application that reads nothing but its own sits there",
    ),
    "feature": Kind(read=Action.FEATURE_READ),
    "other_feature": Kind(read=Action.FEATURE_READ),
    "closure": Kind(read=Action.CLOSURE_READ),
    "condition": Kind(read=Action.CONDITION_READ),
    "gate": Kind(read=Action.GATE_READ),
    "parking_place": Kind(read=Action.GATE_READ),
    "driving_directions": Kind(read=Action.GATE_READ),
    "emergency_sheet": Kind(read=Action.EMERGENCY_SHEET_READ),
    "stand_emergency": Kind(read=Action.EMERGENCY_SHEET_READ),
    "emergency": Kind(read=Action.EMERGENCY_READ),
    "tracking": Kind(read=Action.TRACKING_READ),
    "tracker": Kind(read=Action.TRACKING_READ),
    "neighbour": Kind(
        read=Action.NEIGHBOUR_READ, reason="and who tracks a deer there right now: none of these"
    ),
    "incident": Kind(read=Action.INCIDENT_READ),
    "told_incident": Kind(read=Action.INCIDENT_TOLD),
    "incident_follow_up": Kind(read=Action.INCIDENT_READ),
    "incident_file": Kind(read=Action.INCIDENT_READ),
    "equipment": Kind(read=Action.EQUIPMENT_READ),
    "season": Kind(read=Action.SEASON_READ),
    "lease": Kind(
        read=Action.LEASE_WRITE, reason="a whole lease is its keepers' and its landowner's"
    ),
    "rent": Kind(read=Action.LEASE_WRITE, reason="as its lease"),
    "lease_terms": Kind(read=Action.LEASE_TERMS_READ),
    "regulation": Kind(read=Action.REGULATION_READ),
    "person": Kind(read=Action.PERSON_READ),
    "newcomer": Kind(
        read=Action.COOPERATIVE_WRITE,
        of_cooperative=True,
        reason="somebody without a role is known to coordinators alone",
    ),
    "guest": Kind(read=Action.PERSON_READ),
    "member": Kind(read=Action.MEMBER_READ),
    "paper": Kind(read=Action.PERSON_CONTACT),
    "youth": Kind(read=Action.YOUTH_READ),
    "due": Kind(read=Action.DUE_READ, of_cooperative=True),
    "work_day": Kind(read=Action.WORK_DAY_READ),
    "role": Kind(read=Action.ROLE_READ),
    "outfitter": Kind(read=Action.OUTFITTER_READ),
    "share": Kind(read=Action.OUTFITTER_READ),
    "forecast": Kind(read=Action.WIND_READ),
    "observed_hour": Kind(read=Action.WIND_READ),
    "calibration": Kind(read=Action.CALIBRATION_READ),
    "wind_history": Kind(read=Action.FIT_READ),
    "stand_wind": Kind(read=Action.STAND_WIND_READ),
    "fit": Kind(read=Action.FIT_READ),
    "stand": Kind(read=Action.STAND_READ),
    "other_stand": Kind(read=Action.STAND_READ),
    "third_stand": Kind(read=Action.STAND_READ),
    "inspection": Kind(read=Action.INSPECTION_READ),
    "exclusion": Kind(read=Action.EXCLUSION_READ),
    "scrape": Kind(read=Action.SCRAPE_READ),
    "other_scrape": Kind(read=Action.SCRAPE_READ),
    "scrape_event": Kind(read=Action.SCRAPE_READ),
    "camera": Kind(read=Action.CAMERA_READ),
    "spare_camera": Kind(read=Action.CAMERA_READ),
    "deployment": Kind(read=Action.CAMERA_READ),
    "outage": Kind(read=Action.CAMERA_READ),
    "camera_status": Kind(read=Action.CAMERA_READ),
    "observation": Kind(read=Action.OBSERVATION_READ),
    "observation_import": Kind(read=Action.OBSERVATION_READ),
    "observation_source": Kind(read=Action.OBSERVATION_READ),
    "observation_export": Kind(read=Action.OBSERVATION_READ),
    "scent_application": Kind(read=Action.SCRAPE_READ),
    "scrape_review": Kind(read=Action.VISIT_READ),
    "visited_scrape": Kind(read=Action.VISIT_READ),
    "sit": Kind(read=Action.SIT_MANAGE, reason=OTHERS_SITS),
    "sit_report": Kind(read=Action.SIT_MANAGE, reason=OTHERS_SITS),
    "harvest": Kind(read=Action.HARVEST_READ),
    "harvest_plan": Kind(read=Action.HARVEST_READ),
    "harvest_place": Kind(read=Action.SIT_MANAGE, reason=OTHERS_SITS),
    "tag": Kind(read=Action.TAG_READ, reason="a tag is its holder's and the manager's"),
    "camera_survey": Kind(read=Action.HERD_READ),
    "sit_request": Kind(read=Action.SIT_MANAGE, reason="a wish is its maker's and the manager's"),
    "sit_transfer": Kind(
        read=Action.SIT_MANAGE, reason="an offer is its two members' and the manager's"
    ),
    "waiting_entry": Kind(
        read=Action.SIT_MANAGE, reason="a place on the list is its holder's and the manager's"
    ),
    "rotation_plan": Kind(read=Action.ROTATION_READ),
    "draft_plan": Kind(read=Action.ROTATION_WRITE, reason="a draft is its makers' own"),
    "joint_plan": Kind(read=Action.ROTATION_READ),
    "joint_draft": Kind(read=Action.ROTATION_WRITE, reason="a draft is its makers' own"),
    "errand": Kind(read=Action.ERRAND_READ),
    "work_template": Kind(read=Action.WORKLIST_READ),
    "work_item": Kind(read=Action.WORKLIST_READ),
    "report": Kind(read=Action.REPORT_READ),
    "season_report": Kind(read=Action.SEASON_REPORT_READ, of_cooperative=True),
    "land_note": Kind(read=Action.LAND_NOTE_READ),
    "job": Kind(read=Action.JOB_READ),
    "message": Kind(read=Action.MESSAGE_READ, of_cooperative=True),
    "webhook": Kind(read=Action.WEBHOOK_MANAGE, reason="an application sees its own alone"),
    "webhook_delivery": Kind(read=Action.WEBHOOK_MANAGE, reason="as its webhook"),
    "audit_event": Kind(read=Action.AUDIT_READ),
    # What is one's own, on the north property.
    "own_person": Kind(read=Action.PERSON_READ, owner="member", reason=_OWN),
    "own_guest": Kind(read=Action.PERSON_READ, owner="member", reason=_OWN),
    "own_member": Kind(read=Action.MEMBER_READ, owner="member", reason=_OWN),
    "own_paper": Kind(read=Action.PERSON_CONTACT, owner="member", reason=_OWN),
    "own_youth": Kind(read=Action.YOUTH_READ, owner="member", reason="one's own guest"),
    "own_due": Kind(read=Action.DUE_READ, of_cooperative=True, owner="member", reason=_OWN),
    "own_work_day": Kind(read=Action.WORK_DAY_READ, owner="member", reason=_OWN),
    "own_sit": Kind(read=Action.SIT_MANAGE, owner="member", reason=_OWN),
    "own_sit_report": Kind(read=Action.SIT_MANAGE, owner="member", reason=_OWN),
    "own_harvest": Kind(read=Action.HARVEST_READ, owner="member", reason=_OWN),
    "own_harvest_place": Kind(read=Action.SIT_MANAGE, owner="member", reason=_OWN),
    "client_harvest_place": Kind(
        read=Action.SIT_MANAGE,
        owner="application",
        owner_needs=Action.SIT_READ,
        reason="an outfitter's own client's",
    ),
    "own_tag": Kind(read=Action.TAG_READ, owner="member", reason=_OWN),
    "own_sit_request": Kind(read=Action.SIT_MANAGE, owner="member", reason=_OWN),
    "own_sit_transfer": Kind(read=Action.SIT_MANAGE, owner="member", reason="offered by you"),
    "received_sit_transfer": Kind(read=Action.SIT_MANAGE, owner="member", reason="offered to you"),
    "own_emergency": Kind(read=Action.EMERGENCY_READ, owner="member", reason="declared by you"),
    "own_incident": Kind(
        read=Action.INCIDENT_READ, owner="member", reason="a report is its reporter's"
    ),
    "own_incident_file": Kind(
        read=Action.INCIDENT_READ, owner="member", reason="evidence is its giver's"
    ),
    "own_waiting_entry": Kind(read=Action.SIT_MANAGE, owner="member", reason=_OWN),
    "left_sit": Kind(
        read=Action.SIT_MANAGE, owner="revoked", reason="a sit stays one's own after a role ends"
    ),
    "client_sit": Kind(
        read=Action.SIT_MANAGE,
        owner="application",
        owner_needs=Action.SIT_READ,
        reason="an outfitter's own client's",
    ),
    "past_client_sit": Kind(
        read=Action.SIT_MANAGE,
        owner="application",
        owner_needs=Action.SIT_READ,
        reason="an outfitter's own client's",
    ),
    "client_sit_report": Kind(
        read=Action.SIT_MANAGE,
        owner="application",
        owner_needs=Action.SIT_READ,
        reason="an outfitter's own client's",
    ),
    "own_webhook": Kind(
        read=Action.WEBHOOK_MANAGE,
        owner="application",
        owner_needs=Action.WEBHOOK_READ,
        reason="an application's own",
    ),
    "own_webhook_delivery": Kind(
        read=Action.WEBHOOK_MANAGE,
        owner="application",
        owner_needs=Action.WEBHOOK_READ,
        reason="an application's own",
    ),
    "own_lease": Kind(
        read=Action.LEASE_WRITE, owner="landowner", reason="a landowner reads what they signed"
    ),
    "own_rent": Kind(read=Action.LEASE_WRITE, owner="landowner", reason="as its lease"),
    "own_job": Kind(read=Action.JOB_READ, owner="member", private=True, reason="asked for by you"),
    "own_sit_export": Kind(
        read=Action.SIT_READ, owner="member", private=True, reason="a file is its asker's"
    ),
    "sit_export": Kind(read=Action.SIT_READ, private=True, reason="a file is its asker's"),
    "own_harvest_export": Kind(
        read=Action.HARVEST_READ, owner="member", private=True, reason="a file is its asker's"
    ),
    "harvest_export": Kind(read=Action.HARVEST_READ, private=True, reason="a file is its asker's"),
    "own_calendar_feed": Kind(
        read=Action.ROSTER_READ, owner="member", private=True, reason="a feed is its maker's"
    ),
    "calendar_feed": Kind(read=Action.ROSTER_READ, private=True, reason="a feed is its maker's"),
    "own_token": Kind(
        read=Action.COOPERATIVE_READ, owner="member", private=True, reason="a token is its holder's"
    ),
    "token": Kind(read=Action.COOPERATIVE_READ, private=True, reason="a token is its holder's"),
}

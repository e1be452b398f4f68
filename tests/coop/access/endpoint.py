"""What is said of an endpoint, and the words in which the tables say it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from coop.access.roles import Action


class Ref(str):
    """The kind of an object of the place at hand, to be replaced by its id."""


@dataclass(frozen=True, kw_only=True)
class Endpoint:
    """``of``: kinds that ``{id}`` names. ``lists``: kinds that the answer lists, each with the
    key under which its id stands. ``in_cooperative``: the permission is asked of the whole
    cooperative. ``also`` and ``never``: callers, or ``owner``, with the reason why they may or
    may not although the table says otherwise. ``refused``: statuses other than success that
    somebody permitted may get here, with the reason.
    """

    of: tuple[str, ...] = ()
    lists: tuple[str, ...] = ()
    body: Mapping[str, Any] | None = None
    application_body: Mapping[str, Any] | None = None
    query: Mapping[str, Any] | None = None
    in_cooperative: bool = False
    also: Mapping[str, str] = field(default_factory=dict)
    never: Mapping[str, str] = field(default_factory=dict)
    refused: Mapping[int, str] = field(default_factory=dict)
    table: str = "who"
    """Which table ``{table}`` names."""
    everywhere: Action | None = None
    """A joint plan spans north and south; the action is asked on both."""

    def told(self, caller: str) -> Mapping[str, Any]:
        """The body that this caller sends."""
        if caller.startswith("application") and self.application_body is not None:
            return self.application_body
        return self.body or {}


PROPERTY = Ref("property")
ON_IT = {"property": PROPERTY}
POINT = {"type": "Point", "coordinates": "place"}
EVENING = {"date": "2025-11-01"}
OWNER_MAY = {"owner": "one's own"}
NO_FACTOR = {"application": "an application has no second factor"}
OWN_SEASON = {"application": "a season is a person's own"}
STATE = {409: "not in this state of the object"}

SQUARE = {
    "type": "Polygon",
    "coordinates": [
        [[-91.5, 43.3], [-91.49, 43.3], [-91.49, 43.31], [-91.5, 43.31], [-91.5, 43.3]]
    ],
}
CLIENT = {
    "reference": "C-1",
    "name": "Clio Client",
    "emergency_contact_name": "Kin of Clio",
    "emergency_contact_phone": "555-0197",
}
HOURS = [{"starts_at": "2025-11-08T20:00:00Z", "wind_from_deg": 315, "speed_mps": 3.6}]


def read(name: str, *kinds: str, **more: Any) -> dict[str, Endpoint]:
    return {
        f"GET {name}/": Endpoint(lists=kinds),
        f"GET {name}/{{id}}/": Endpoint(of=kinds, **more),
    }


EMERGENCIES = ("emergency", "own_emergency")
OWN_NOTE = {"application": "a medical note is a person's own"}
NOT_THEIR_DEER = {"member": "only the hunter and managers say so for others"}
INCIDENTS = ("incident", "own_incident")
INCIDENT_FILES = ("incident_file", "own_incident_file")
LEASES = ("lease", "own_lease")
RENTS = ("rent", "own_rent")
WAITING = ("waiting_entry", "own_waiting_entry")
SITS = ("sit", "own_sit", "client_sit", "left_sit")
KEPT_PLACES = ("harvest_place", "own_harvest_place", "client_harvest_place")
WEBHOOKS = ("webhook", "own_webhook")
NOT_THEIR_WEBHOOK = dict.fromkeys(
    ("manager", "coordinator", "stranger"), "only whoever registered a webhook changes it"
)
PLANS = ("rotation_plan", "draft_plan", "joint_plan", "joint_draft")


def sit_action(**more: Any) -> Endpoint:
    return Endpoint(of=SITS, body={}, also=OWNER_MAY, refused=STATE, **more)


def answer_to_offer() -> Endpoint:
    return Endpoint(
        of=("sit_transfer", "received_sit_transfer"),
        body={},
        never=dict.fromkeys(
            ("manager", "coordinator", "stranger"), "only whom it was offered to answers"
        ),
        refused=STATE,
    )


Resolve = Callable[[str], str]


def references(value: Any) -> set[str]:
    """The kinds named anywhere in a body or query."""
    if isinstance(value, Ref):
        return {str(value)}
    if isinstance(value, Mapping):
        return set().union(*map(references, value.values()))
    if isinstance(value, list | tuple):
        return set().union(*map(references, value))
    return set()


def resolved(value: Any, resolve: Resolve) -> Any:
    """A body or query with every reference replaced by an id."""
    if isinstance(value, Ref):
        return resolve(str(value))
    if isinstance(value, Mapping):
        return {name: resolved(each, resolve) for name, each in value.items()}
    if isinstance(value, list):
        return [resolved(each, resolve) for each in value]
    return value

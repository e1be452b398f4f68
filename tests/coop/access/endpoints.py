"""How each endpoint is called in the world: what ``{id}`` names, what is sent, what is listed.

A new endpoint gets its row here, a new kind of object is made in ``ground``,
``air_and_scrapes`` or ``doings`` and gets its row in ``kinds``;
what each caller is then answered follows from the permission table. Departures from the
table stand in ``also`` and ``never``, each with its reason.
"""

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


def _read(name: str, *kinds: str, **more: Any) -> dict[str, Endpoint]:
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


def _sit_action(**more: Any) -> Endpoint:
    return Endpoint(of=SITS, body={}, also=OWNER_MAY, refused=STATE, **more)


def _answer_to_offer() -> Endpoint:
    return Endpoint(
        of=("sit_transfer", "received_sit_transfer"),
        body={},
        never=dict.fromkeys(
            ("manager", "coordinator", "stranger"), "only whom it was offered to answers"
        ),
        refused=STATE,
    )


ENDPOINTS: dict[str, Endpoint] = {
    # access, jobs, messages, audit
    "GET ": Endpoint(),
    "POST sign-in/": Endpoint(),
    "GET tokens/": Endpoint(lists=("own_token", "token")),
    "POST tokens/": Endpoint(never={"application": "an application asks at /oauth/token/"}),
    "DELETE tokens/{id}/": Endpoint(of=("own_token", "token")),
    "GET second-factor/": Endpoint(never=NO_FACTOR),
    "POST second-factor/": Endpoint(
        body={"password": "wrong"}, never=NO_FACTOR, refused={401: "the password is wrong"}
    ),
    "POST second-factor/confirm/": Endpoint(
        body={"code": "000000"}, never=NO_FACTOR, refused={401: "the code is wrong"}
    ),
    "POST second-factor/remove/": Endpoint(
        body={"code": "000000"}, never=NO_FACTOR, refused={401: "the code is wrong"}
    ),
    "GET me/": Endpoint(lists=("property",)),
    **_read("jobs", "job", "own_job"),
    "GET jobs/{id}/log/": Endpoint(of=("job", "own_job")),
    "POST jobs/{id}/cancel/": Endpoint(of=("job", "own_job"), also=OWNER_MAY),
    **_read("messages", "message"),
    "GET notice-preferences/mine/": Endpoint(never={"application": "it gets no notices"}),
    "PUT notice-preferences/mine/": Endpoint(body={}, never={"application": "it gets no notices"}),
    "POST messages/{id}/send-again/": Endpoint(of=("message",), in_cooperative=True),
    **_read("webhooks", *WEBHOOKS),
    "GET webhooks/event-types/": Endpoint(),
    "POST webhooks/": Endpoint(
        body={
            **ON_IT,
            "url": "https://hooks.example.org/",
            "event_types": ["stand.closed"],
        }
    ),
    "PATCH webhooks/{id}/": Endpoint(of=WEBHOOKS, body={}, never=NOT_THEIR_WEBHOOK),
    "POST webhooks/{id}/rotate-secret/": Endpoint(of=WEBHOOKS, never=NOT_THEIR_WEBHOOK),
    "POST webhooks/{id}/test/": Endpoint(of=WEBHOOKS, never=NOT_THEIR_WEBHOOK),
    "POST webhooks/{id}/enable/": Endpoint(of=WEBHOOKS),
    "POST webhooks/{id}/retire/": Endpoint(of=WEBHOOKS),
    **_read("webhook-deliveries", "webhook_delivery", "own_webhook_delivery"),
    "POST webhook-deliveries/{id}/replay/": Endpoint(
        of=("webhook_delivery", "own_webhook_delivery")
    ),
    **_read("audit-events", "audit_event"),
    # land
    **_read("cooperatives", "cooperative"),
    "PATCH cooperatives/{id}/": Endpoint(of=("cooperative",), body={}, in_cooperative=True),
    **_read("properties", "property"),
    "POST properties/": Endpoint(
        body={
            "cooperative": Ref("cooperative"),
            "name": "New tract",
            "time_zone": "America/Chicago",
            "boundary": SQUARE,
        },
        in_cooperative=True,
    ),
    "PATCH properties/{id}/": Endpoint(of=("property",), body={}),
    "GET properties/{id}/settings/": Endpoint(of=("property",)),
    "GET properties/{id}/export/": Endpoint(of=("property",)),
    "POST properties/{id}/import/": Endpoint(of=("property",), body={"file": "map"}),
    "GET properties/{id}/sessions/": Endpoint(of=("property",)),
    **_read("features", "feature"),
    "POST features/": Endpoint(body={**ON_IT, "kind": "bedding", "name": "New", "geometry": POINT}),
    "PATCH features/{id}/": Endpoint(of=("feature",), body={}),
    "POST features/{id}/retire/": Endpoint(of=("feature",)),
    **_read("closures", "closure"),
    "POST closures/": Endpoint(
        body={**ON_IT, "first_on": "2026-02-01", "last_on": "2026-02-02", "reason": "Logging"}
    ),
    "POST closures/{id}/lift/": Endpoint(of=("closure",)),
    "GET closures/{id}/outcome/": Endpoint(of=("closure",)),
    **_read("conditions", "condition"),
    "POST conditions/": Endpoint(
        body={
            **ON_IT,
            "kind": "ice",
            "starts_at": "2026-02-01T12:00:00Z",
            "source": "the manager saw it",
        }
    ),
    "POST conditions/{id}/withdraw/": Endpoint(of=("condition",), body={}),
    "GET settings/": Endpoint(),
    # getting there, emergencies, tracked deer
    **_read("gates", "gate"),
    "POST gates/": Endpoint(
        body={**ON_IT, "name": "New", "longitude": "longitude", "latitude": "latitude"}
    ),
    "PATCH gates/{id}/": Endpoint(of=("gate",), body={}),
    "POST gates/{id}/retire/": Endpoint(of=("gate",)),
    "GET gates/{id}/code/": Endpoint(of=("gate",)),
    "PUT gates/{id}/code/": Endpoint(
        of=("gate",), body={"code": "4711", "holds_from": "2025-11-08"}
    ),
    "GET gates/{id}/codes/": Endpoint(of=("gate",)),
    "GET gates/{id}/readings/": Endpoint(of=("gate",)),
    **_read("parking-places", "parking_place"),
    "POST parking-places/": Endpoint(
        body={**ON_IT, "name": "New", "longitude": "longitude", "latitude": "latitude"}
    ),
    "PATCH parking-places/{id}/": Endpoint(of=("parking_place",), body={}),
    "POST parking-places/{id}/retire/": Endpoint(of=("parking_place",)),
    **_read("driving-directions", "driving_directions"),
    "POST driving-directions/": Endpoint(body=ON_IT, refused={400: "entered already"}),
    "PATCH driving-directions/{id}/": Endpoint(of=("driving_directions",), body={}),
    "GET sits/{id}/arrival/": Endpoint(of=SITS),
    "GET sits/{id}/gate-codes/": Endpoint(of=SITS, refused={409: "not on the day of the sit"}),
    **_read("emergency-sheets", "emergency_sheet"),
    "POST emergency-sheets/": Endpoint(body=ON_IT, refused={400: "entered already"}),
    "PATCH emergency-sheets/{id}/": Endpoint(of=("emergency_sheet",), body={}),
    **_read("stand-emergencies", "stand_emergency"),
    "POST stand-emergencies/": Endpoint(body={"stand": Ref("third_stand")}),
    "PATCH stand-emergencies/{id}/": Endpoint(of=("stand_emergency",), body={}),
    "GET properties/{id}/emergency-sheet/": Endpoint(of=("property",)),
    **_read("emergencies", *EMERGENCIES),
    "POST emergencies/": Endpoint(body={**ON_IT, "person": Ref("person"), "why": "A fall"}),
    "POST emergencies/{id}/end/": Endpoint(of=EMERGENCIES),
    "GET emergencies/{id}/medical-note/": Endpoint(of=EMERGENCIES, also=OWNER_MAY),
    "GET medical-notes/mine/": Endpoint(never=OWN_NOTE),
    "PUT medical-notes/mine/": Endpoint(body={"text": "Bee stings"}, never=OWN_NOTE),
    "DELETE medical-notes/mine/": Endpoint(never=OWN_NOTE),
    "GET medical-notes/readings/": Endpoint(never=OWN_NOTE),
    **_read("trackings", "tracking"),
    "POST trackings/": Endpoint(
        body={
            "sit": Ref("own_sit"),
            "hit_at": "2025-11-01T16:00:00Z",
            "longitude": "longitude",
            "latitude": "latitude",
            "hit_kind": "liver",
            "harvest_class": "antlerless",
        },
        refused={409: "nobody has checked in"},
    ),
    "PATCH trackings/{id}/": Endpoint(of=("tracking",), body={}, never=NOT_THEIR_DEER),
    "POST trackings/{id}/end/": Endpoint(
        of=("tracking",), body={"outcome": "not_found"}, never=NOT_THEIR_DEER
    ),
    "GET trackings/{id}/counted/": Endpoint(of=("tracking",), never=NOT_THEIR_DEER),
    **_read("trackers", "tracker"),
    "POST trackers/": Endpoint(
        body={
            "tracking": Ref("tracking"),
            "area": "Creek",
            "back_by": "2025-11-01T20:00:00Z",
        }
    ),
    "POST trackers/{id}/leave/": Endpoint(of=("tracker",), never=NOT_THEIR_DEER),
    "POST trackers/{id}/back-later/": Endpoint(
        of=("tracker",), body={"back_by": "2025-11-01T22:00:00Z"}, never=NOT_THEIR_DEER
    ),
    "POST trackers/{id}/acknowledge/": Endpoint(
        of=("tracker",), never=NOT_THEIR_DEER, refused=STATE
    ),
    **_read("neighbours", "neighbour"),
    "POST neighbours/": Endpoint(body={**ON_IT, "name": "New", "ground": "West"}),
    "PATCH neighbours/{id}/": Endpoint(of=("neighbour",), body={}),
    "POST neighbours/{id}/retire/": Endpoint(of=("neighbour",)),
    # trouble
    **_read("incidents", *INCIDENTS),
    "POST incidents/": Endpoint(
        body={
            **ON_IT,
            "kind": "open_gate",
            "happened_at": "2025-10-20T12:00:00Z",
            "place_words": "the lower gate",
            "what": "It stood open.",
        }
    ),
    "PATCH incidents/{id}/": Endpoint(of=INCIDENTS, body={}),
    "POST incidents/{id}/follow-up/": Endpoint(of=INCIDENTS, body={"words": "Asked around."}),
    "POST incidents/{id}/close/": Endpoint(of=INCIDENTS, body={"words": "Settled."}),
    "POST incidents/{id}/release/": Endpoint(of=INCIDENTS, body={"done": "The chain is new."}),
    "POST incidents/{id}/take-back/": Endpoint(of=INCIDENTS),
    "POST incidents/{id}/ask-errand/": Endpoint(of=INCIDENTS, body={"words": "Hang a chain."}),
    "POST incidents/{id}/files/": Endpoint(
        of=INCIDENTS, body={"file": "paper"}, also={"owner": "evidence of one's own report"}
    ),
    **_read("incident-follow-ups", "incident_follow_up"),
    **_read("incident-files", *INCIDENT_FILES),
    "GET incident-files/{id}/content/": Endpoint(of=INCIDENT_FILES),
    "GET incident-files/{id}/original/": Endpoint(of=INCIDENT_FILES),
    **_read("told-incidents", "told_incident"),
    **_read("equipment", "equipment"),
    "POST equipment/": Endpoint(body={**ON_IT, "kind": "ladder", "name": "Long ladder"}),
    "PATCH equipment/{id}/": Endpoint(of=("equipment",), body={}),
    "POST equipment/{id}/retire/": Endpoint(of=("equipment",)),
    # people
    **_read("persons", "person", "newcomer", "own_person"),
    "POST persons/": Endpoint(
        body={"cooperative": Ref("cooperative"), "name": "Ada Example"}, in_cooperative=True
    ),
    "PATCH persons/{id}/": Endpoint(
        of=("person", "newcomer", "own_person"), body={}, also=OWNER_MAY
    ),
    "POST persons/{id}/retire/": Endpoint(of=("person", "newcomer", "own_person")),
    "POST persons/{id}/invite/": Endpoint(
        of=("person", "newcomer", "own_person"), refused={400: "has an account, or no address"}
    ),
    **_read("guests", "guest", "own_guest"),
    "POST guests/": Endpoint(
        body={
            "host": Ref("person"),
            "name": "Gus Example",
            "emergency_contact_name": "Gail",
            "emergency_contact_phone": "555-0102",
        },
        never={"member": "somebody else's guest is added by the host or the manager"},
    ),
    "POST guests/{id}/retire/": Endpoint(
        of=("guest", "own_guest"),
        never={"member": "somebody else's guest is retired by the host or the manager"},
        also=OWNER_MAY,
    ),
    **_read("members", "member", "own_member"),
    "POST members/": Endpoint(
        body={"person": Ref("newcomer"), "joined_on": "2025-10-01"}, in_cooperative=True
    ),
    "PATCH members/{id}/": Endpoint(of=("member", "own_member"), body={}),
    **_read("papers", "paper", "own_paper"),
    "POST papers/": Endpoint(body={"person": Ref("person"), "kind": "rifle_course"}),
    "PATCH papers/{id}/": Endpoint(of=("paper", "own_paper"), body={}),
    **_read("youths", "youth", "own_youth"),
    "POST youths/": Endpoint(body={"person": Ref("newcomer"), "youth_until": "2027-05-31"}),
    "PATCH youths/{id}/": Endpoint(of=("youth", "own_youth"), body={}),
    **_read("dues", "due", "own_due"),
    "POST dues/": Endpoint(
        body={
            "person": Ref("person"),
            "season_year": 2024,
            "amount": "450",
            "due_on": "2024-08-01",
        },
        in_cooperative=True,
    ),
    "PATCH dues/{id}/": Endpoint(of=("due", "own_due"), body={}),
    **_read("work-days", "work_day", "own_work_day"),
    "POST work-days/": Endpoint(
        body={
            **ON_IT,
            "person": Ref("person"),
            "worked_on": "2025-10-04",
            "hours": "4",
            "what": "Mowed",
        }
    ),
    "POST work-days/{id}/withdraw/": Endpoint(of=("work_day", "own_work_day"), body={}),
    "POST bulk-entries/": Endpoint(
        body={"cooperative": Ref("cooperative"), "kind": "dues", "file": "table"},
        in_cooperative=True,
    ),
    "GET standings/": Endpoint(query=ON_IT),
    **_read("roles", "role"),
    "POST roles/": Endpoint(
        body={"person": Ref("person"), "role": "landowner", "property": PROPERTY}
    ),
    "POST roles/{id}/revoke/": Endpoint(of=("role",)),
    **_read("outfitters", "outfitter"),
    "POST outfitters/": Endpoint(
        body={"cooperative": Ref("cooperative"), "name": "New outfitter"}, in_cooperative=True
    ),
    "PATCH outfitters/{id}/": Endpoint(of=("outfitter",), body={}),
    "POST outfitters/{id}/renew-secret/": Endpoint(of=("outfitter",)),
    "POST outfitters/{id}/retire/": Endpoint(of=("outfitter",)),
    **_read("shares", "share"),
    "POST shares/": Endpoint(
        body={"outfitter": Ref("outfitter"), "property": PROPERTY}, refused={400: "shared already"}
    ),
    "POST shares/{id}/revoke/": Endpoint(of=("share",)),
    # wind
    **_read("forecasts", "forecast"),
    "POST forecasts/": Endpoint(body={**ON_IT, "source": "own", "hours": HOURS}),
    "GET observed-hours/": Endpoint(lists=("observed_hour",)),
    "POST observed-hours/": Endpoint(body={**ON_IT, "source": "own", "hours": HOURS}),
    **_read("fit-calibrations", "calibration"),
    **_read("wind-histories", "wind_history"),
    "POST wind-histories/sum-up/": Endpoint(body={**ON_IT, "season_year": 2024}),
    "GET wind-histories/{id}/picture/": Endpoint(
        of=("wind_history",), query={"stand": Ref("stand")}
    ),
    "GET visit-hours/": Endpoint(
        query={**ON_IT, "longitude": "longitude", "latitude": "latitude", "hours": "2"}
    ),
    **_read("stand-winds", "stand_wind"),
    "POST stand-winds/learn/": Endpoint(body=ON_IT),
    **_read("fits", "fit"),
    "POST fits/recompute/": Endpoint(body=ON_IT),
    "GET fits/{id}/alternatives/": Endpoint(of=("fit",)),
    # stands, sessions
    **_read("stands", "stand"),
    "POST stands/": Endpoint(
        body={
            **ON_IT,
            "name": "New",
            "kind": "ladder",
            "geometry": POINT,
            "seat_height_m": 5,
            "shot_distance_m": 27,
        }
    ),
    "PATCH stands/{id}/": Endpoint(of=("stand",), body={}),
    "POST stands/{id}/close/": Endpoint(of=("stand",), body={"reason": "Rotten rung"}),
    "POST stands/{id}/inspections/": Endpoint(
        of=("stand",), body={"inspected_on": "2025-10-30", "passed": True}
    ),
    "POST stands/{id}/open/": Endpoint(of=("stand",), body={"reason": "Mended"}),
    "POST stands/{id}/retire/": Endpoint(of=("stand",)),
    **_read("inspections", "inspection"),
    **_read("stand-exclusions", "exclusion"),
    "POST stand-exclusions/": Endpoint(
        body={"first": Ref("stand"), "second": Ref("third_stand"), "reason": "Line of fire"}
    ),
    "DELETE stand-exclusions/{id}/": Endpoint(of=("exclusion",)),
    **_read("seasons", "season"),
    # leases, regulations
    **_read("leases", *LEASES),
    "POST leases/": Endpoint(
        body={
            **ON_IT,
            "landowner": Ref("person"),
            "first_on": "2040-08-01",
            "last_on": "2041-07-31",
            "people": ["members"],
        }
    ),
    "PATCH leases/{id}/": Endpoint(of=LEASES, body={}),
    "POST leases/{id}/withdraw/": Endpoint(of=LEASES, body={"reason": "Wrong year"}),
    **_read("lease-terms", "lease_terms"),
    **_read("rents", *RENTS),
    "POST rents/": Endpoint(
        body={
            "lease": Ref("lease"),
            "amount": "1200.00",
            "currency": "USD",
            "due_on": "2026-02-01",
        }
    ),
    "PATCH rents/{id}/": Endpoint(of=RENTS, body={}),
    **_read("regulations", "regulation"),
    "GET regulations/in-force/": Endpoint(query={**ON_IT, "on": "2025-11-01"}),
    "POST regulations/": Endpoint(
        body={
            **ON_IT,
            "kind": "minerals",
            "value": {"permitted": False},
            "first_on": "2025-08-01",
            "source_url": "https://state.example/regulations",
        }
    ),
    "PATCH regulations/{id}/": Endpoint(of=("regulation",), body={}),
    "POST regulations/{id}/confirm/": Endpoint(of=("regulation",)),
    "POST regulations/{id}/withdraw/": Endpoint(of=("regulation",), body={}),
    "POST seasons/": Endpoint(
        body={
            **ON_IT,
            "name": "Late",
            "first_on": "2026-01-05",
            "last_on": "2026-01-31",
            "weapons": ["bow"],
            "source_url": "https://state.example/regulations",
        }
    ),
    "POST seasons/{id}/confirm/": Endpoint(of=("season",)),
    "PATCH seasons/{id}/": Endpoint(of=("season",), body={}),
    "DELETE seasons/{id}/": Endpoint(of=("season",)),
    # scrapes, cameras
    **_read("scrapes", "scrape"),
    "POST scrapes/": Endpoint(body={**ON_IT, "name": "New", "kind": "mock", "geometry": POINT}),
    "PATCH scrapes/{id}/": Endpoint(of=("scrape",), body={}),
    "GET scrapes/{id}/events/": Endpoint(of=("scrape",)),
    "POST scrapes/{id}/events/": Endpoint(
        of=("scrape",), body={"happened_on": "2025-10-04", "what": "repaired"}
    ),
    "POST scrapes/{id}/retire/": Endpoint(of=("scrape",), refused=STATE),
    **_read("cameras", "camera"),
    "POST cameras/": Endpoint(body={**ON_IT, "name": "New"}),
    "PATCH cameras/{id}/": Endpoint(of=("camera",), body={}),
    "GET cameras/{id}/health/": Endpoint(of=("camera",)),
    "POST cameras/{id}/retire/": Endpoint(of=("camera",), refused=STATE),
    **_read("deployments", "deployment"),
    "POST deployments/": Endpoint(
        body={
            "camera": Ref("spare_camera"),
            "scrape": Ref("scrape"),
            "starts_at": "2025-11-01T12:00:00Z",
        }
    ),
    "PATCH deployments/{id}/": Endpoint(of=("deployment",), body={}),
    "POST deployments/{id}/move/": Endpoint(
        of=("deployment",), body={"scrape": Ref("other_scrape")}
    ),
    "POST deployments/{id}/take-down/": Endpoint(of=("deployment",), body={}),
    **_read("outages", "outage"),
    "POST outages/": Endpoint(
        body={
            "deployment": Ref("deployment"),
            "kind": "dead",
            "starts_at": "2025-11-01T06:00:00Z",
        }
    ),
    "PATCH outages/{id}/": Endpoint(of=("outage",), body={}),
    "GET camera-statuses/": Endpoint(lists=("camera_status",)),
    "POST camera-statuses/": Endpoint(body={"camera": Ref("camera"), "battery_pct": 60}),
    **_read("observation-imports", "observation_import"),
    "POST observation-imports/": Endpoint(body={**ON_IT, "format": "csv", "file": "table"}),
    "POST observation-exports/": Endpoint(body=ON_IT),
    "GET observation-exports/{id}/": Endpoint(of=("observation_export",)),
    **_read("observation-sources", "observation_source"),
    "POST observation-sources/": Endpoint(
        body={**ON_IT, "name": "sheet", "columns": {"instant": "Date", "deployment": "Camera"}}
    ),
    "PATCH observation-sources/{id}/": Endpoint(of=("observation_source",), body={}),
    "GET observations/": Endpoint(lists=("observation",)),
    "GET observations/export/": Endpoint(lists=("observation",)),
    "GET visits/": Endpoint(query=ON_IT),
    "GET visits/export/": Endpoint(query=ON_IT),
    "GET visits/{id}/": Endpoint(of=("visited_scrape",)),
    **_read("scent-applications", "scent_application"),
    "POST scent-applications/": Endpoint(
        body={"scrape": Ref("scrape"), "scent": "synthetic forehead gland"},
        refused={409: "the property's settings permit none"},
    ),
    "GET scent-applications/permitted/": Endpoint(query=ON_IT),
    "GET scent-effects/": Endpoint(query=ON_IT),
    **_read("scrape-reviews", "scrape_review"),
    "POST scrape-reviews/start/": Endpoint(body=ON_IT),
    "GET season-curves/": Endpoint(query=ON_IT),
    "POST season-curves/fit/": Endpoint(body=ON_IT),
    "GET siting/build-sheet/": Endpoint(query={**ON_IT, "branch_azimuth_deg": "90"}),
    "POST siting/judge/": Endpoint(
        body={**ON_IT, "longitude": "longitude", "latitude": "latitude"}
    ),
    "GET siting/picture/": Endpoint(
        query={**ON_IT, "longitude": "longitude", "latitude": "latitude"}
    ),
    "POST siting/search/": Endpoint(body=ON_IT),
    # sits
    "GET sits/": Endpoint(lists=SITS),
    "GET sits/{id}/": Endpoint(of=SITS),
    "GET sits/changes/": Endpoint(lists=SITS),
    "GET offers/changes/": Endpoint(),
    "POST sit-exports/": Endpoint(
        body={**ON_IT, "first_on": "2025-10-01", "last_on": "2025-12-31"}
    ),
    "GET sit-exports/{id}/": Endpoint(of=("own_sit_export", "sit_export")),
    "GET sit-exports/{id}/file/": Endpoint(of=("own_sit_export", "sit_export")),
    "POST sits/": Endpoint(
        body={"stand": Ref("third_stand"), "local_date": "2025-11-01", "span": "evening"},
        application_body={
            "stand": Ref("third_stand"),
            "local_date": "2025-11-02",
            "span": "evening",
            "client": CLIENT,
        },
        refused={409: "a house rule objects"},
    ),
    "POST sits/{id}/acknowledge/": _sit_action(),
    "GET sits/{id}/briefing/": Endpoint(of=SITS),
    "POST sits/{id}/cancel/": _sit_action(),
    "POST sits/{id}/check-in/": Endpoint(
        of=SITS, body={}, also=OWNER_MAY, refused={**STATE, 400: "too late for a session gone by"}
    ),
    "POST sits/{id}/check-out/": _sit_action(),
    "POST sits/{id}/excuse/": Endpoint(of=SITS, body={}, refused=STATE),
    "POST sits/{id}/mark-missed/": Endpoint(of=SITS, refused=STATE),
    "POST sits/{id}/report/": _sit_action(),
    "POST sits/{id}/tracking/": Endpoint(
        of=SITS, body={"back_by": "2025-11-02T03:00:00Z"}, also=OWNER_MAY, refused=STATE
    ),
    "POST sits/{id}/transfer/": Endpoint(
        of=SITS,
        body={"receiver": Ref("person"), "reason": "Ill"},
        refused={**STATE, 400: "its own holder; a client's sit"},
    ),
    **_read("sit-transfers", "sit_transfer", "own_sit_transfer", "received_sit_transfer"),
    "POST sit-transfers/": Endpoint(
        body={"sit": Ref("own_sit"), "receiver": Ref("person")},
        never=dict.fromkeys(("manager", "coordinator"), "only its holder offers a sit"),
    ),
    "POST sit-transfers/{id}/accept/": _answer_to_offer(),
    "POST sit-transfers/{id}/decline/": _answer_to_offer(),
    "POST sit-transfers/{id}/withdraw/": Endpoint(
        of=("sit_transfer", "own_sit_transfer"), body={}, refused=STATE
    ),
    "GET waiting-list/": Endpoint(lists=WAITING),
    "GET waiting-list/{id}/": Endpoint(of=WAITING),
    "POST waiting-list/": Endpoint(
        body={
            **ON_IT,
            "stand": Ref("third_stand"),
            "local_date": "2025-11-02",
            "span": "evening",
            "person": Ref("person"),
        },
        never={"member": "for somebody else a manager asks"},
        refused={409: "a seat is free, or waiting would not help"},
    ),
    "POST waiting-list/{id}/confirm/": Endpoint(of=WAITING, also=OWNER_MAY, refused=STATE),
    "POST waiting-list/{id}/leave/": Endpoint(of=WAITING, also=OWNER_MAY, refused=STATE),
    "GET sit-requests/": Endpoint(lists=("sit_request", "own_sit_request")),
    "GET sit-requests/{id}/": Endpoint(of=("sit_request", "own_sit_request")),
    "POST sit-requests/": Endpoint(
        body={
            **ON_IT,
            "person": Ref("person"),
            "first_on": "2025-11-07",
            "last_on": "2025-11-16",
            "wanted_sits": 3,
        },
        never={"member": "for somebody else a manager asks"},
    ),
    "PATCH sit-requests/{id}/": Endpoint(
        of=("sit_request", "own_sit_request"), body={}, also=OWNER_MAY
    ),
    "POST sit-requests/{id}/withdraw/": Endpoint(
        of=("sit_request", "own_sit_request"), also=OWNER_MAY
    ),
    **_read("sit-reports", "sit_report", "own_sit_report", "client_sit_report"),
    **_read("harvests", "harvest", "own_harvest"),
    "POST harvests/": Endpoint(
        body={
            **ON_IT,
            "person": Ref("person"),
            "harvest_class": "antlerless",
            "taken_at": "2025-11-01T12:00:00Z",
        },
        application_body={
            **ON_IT,
            "sit": Ref("client_sit"),
            "harvest_class": "antlerless",
            "taken_at": "2025-11-01T12:00:00Z",
        },
        never={"member": "for somebody else a manager records"},
    ),
    "PATCH harvests/{id}/": Endpoint(
        of=("harvest", "own_harvest"),
        body={},
        also=OWNER_MAY,
        never={"member": "somebody else's deer is corrected by the manager"},
    ),
    **_read("harvest-plans", "harvest_plan"),
    "POST harvest-plans/": Endpoint(
        body={**ON_IT, "season_year": 2025, "harvest_class": "antlerless", "planned": 8}
    ),
    "PATCH harvest-plans/{id}/": Endpoint(of=("harvest_plan",), body={"planned": 4}),
    "DELETE harvest-plans/{id}/": Endpoint(of=("harvest_plan",)),
    "GET harvests/export/": Endpoint(query=ON_IT),
    "GET harvest-figures/": Endpoint(query=ON_IT),
    **_read("harvest-places", *KEPT_PLACES),
    "POST harvest-places/{id}/give-up/": Endpoint(of=KEPT_PLACES, also=OWNER_MAY),
    "POST harvest-places/{id}/ask-again/": Endpoint(of=KEPT_PLACES, also=OWNER_MAY),
    **_read("tags", "tag", "own_tag"),
    "POST tags/": Endpoint(
        body={
            "person": Ref("person"),
            "number": "T-1",
            "valid_from": "2025-10-01",
            "valid_until": "2026-01-31",
        },
        never={"member": "somebody else's tag is entered by the manager"},
    ),
    "PATCH tags/{id}/": Endpoint(of=("tag", "own_tag"), body={}, also=OWNER_MAY),
    "POST tags/{id}/retire/": Endpoint(of=("tag", "own_tag"), also=OWNER_MAY),
    # the herd
    **_read("camera-surveys", "camera_survey"),
    "POST camera-surveys/": Endpoint(
        body={
            **ON_IT,
            "name": "September survey",
            "first_on": "2025-09-01",
            "last_on": "2025-09-14",
            "cameras": [Ref("camera")],
        }
    ),
    "PATCH camera-surveys/{id}/": Endpoint(of=("camera_survey",), body={}),
    "POST camera-surveys/{id}/count/": Endpoint(
        of=("camera_survey",), refused={400: "fewer pictures of bucks than bucks told apart"}
    ),
    "GET camera-surveys/{id}/pictures/": Endpoint(of=("camera_survey",)),
    "POST camera-surveys/{id}/retire/": Endpoint(of=("camera_survey",)),
    "GET herd-observations/": Endpoint(query=ON_IT),
    "GET offers/": Endpoint(query={**ON_IT, **EVENING, "kind": "evening"}),
    "GET roster/": Endpoint(query={**ON_IT, **EVENING}),
    "GET fairness/": Endpoint(query=ON_IT),
    "GET calendar-feeds/": Endpoint(lists=("own_calendar_feed", "calendar_feed")),
    "POST calendar-feeds/": Endpoint(
        body=ON_IT, never={"member": "a property's feed tells full names"}
    ),
    "DELETE calendar-feeds/{id}/": Endpoint(of=("own_calendar_feed", "calendar_feed")),
    "GET house-rules/": Endpoint(),
    # rotation, errands
    "GET rotation-plans/": Endpoint(lists=PLANS),
    "GET rotation-plans/{id}/": Endpoint(of=PLANS),
    "POST rotation-plans/recompute/": Endpoint(body=ON_IT),
    "GET rotation-plans/{id}/preview/": Endpoint(
        of=PLANS, everywhere=Action.ROTATION_WRITE, refused=STATE
    ),
    "POST rotation-plans/{id}/publish/": Endpoint(
        of=PLANS, everywhere=Action.ROTATION_WRITE, refused=STATE
    ),
    "GET rotation-plans/{id}/relaxations/": Endpoint(of=PLANS, everywhere=Action.ROTATION_WRITE),
    "POST rotation-plans/{id}/relaxations/": Endpoint(of=PLANS, everywhere=Action.ROTATION_WRITE),
    "GET rotation-plans/{id}/seats/": Endpoint(of=PLANS),
    "GET rotation-plans/{id}/unmet/": Endpoint(of=PLANS),
    **_read("errands", "errand"),
    "GET errand-walks/": Endpoint(query=ON_IT),
    "POST errands/": Endpoint(
        body={"kind": "trim", "stand": Ref("stand"), "reason": "A limb hangs into the lane."}
    ),
    "POST errands/{id}/assign/": Endpoint(of=("errand",), body={"assignee": Ref("person")}),
    "POST errands/{id}/cancel/": Endpoint(of=("errand",), body={}),
    "POST errands/{id}/finish/": Endpoint(of=("errand",), body={}),
    **_read("work-templates", "work_template"),
    "POST work-templates/": Endpoint(
        body={**ON_IT, "task": "survey", "title": "Count sign", "anchor": "peak"}
    ),
    "PATCH work-templates/{id}/": Endpoint(of=("work_template",), body={}),
    "POST work-templates/{id}/retire/": Endpoint(of=("work_template",)),
    **_read("work-items", "work_item"),
    "POST work-items/": Endpoint(
        body={**ON_IT, "title": "Mend the bridge", "due_on": "2025-11-14", "stand": Ref("stand")}
    ),
    "POST work-items/{id}/move/": Endpoint(of=("work_item",), body={"due_on": "2025-11-20"}),
    "POST work-items/{id}/finish/": Endpoint(of=("work_item",), body={}),
    "POST work-items/{id}/skip/": Endpoint(of=("work_item",), body={}),
    "POST work-items/{id}/reopen/": Endpoint(of=("work_item",), refused=STATE),
    "GET worklists/{id}/weeks/": Endpoint(of=("property",)),
    "GET worklists/{id}/html/": Endpoint(of=("property",)),
    "POST worklists/{id}/write/": Endpoint(of=("property",)),
    # reports
    **_read("reports", "report"),
    "POST reports/": Endpoint(body={**ON_IT, "month": "2025-10"}),
    "GET reports/{id}/appendix/": Endpoint(of=("report",)),
    "GET reports/{id}/figures/": Endpoint(of=("report",)),
    "GET reports/{id}/html/": Endpoint(of=("report",)),
    "GET reports/{id}/pdf/": Endpoint(of=("report",)),
    "GET reports/{id}/tables/{table}/": Endpoint(of=("report",)),
    **_read("season-reports", "season_report"),
    "POST season-reports/": Endpoint(
        body={"cooperative": Ref("cooperative"), "season_year": 2025}, in_cooperative=True
    ),
    "GET season-reports/{id}/figures/": Endpoint(of=("season_report",)),
    "GET season-reports/{id}/html/": Endpoint(of=("season_report",)),
    "GET season-reports/{id}/pdf/": Endpoint(of=("season_report",)),
    "GET season-reports/{id}/tables/{table}/": Endpoint(of=("season_report",), table="deer"),
    "GET week-ahead/{id}/figures/": Endpoint(of=("property",)),
    "GET week-ahead/{id}/html/": Endpoint(of=("property",)),
    "GET week-ahead/{id}/tables/{table}/": Endpoint(of=("property",), table="sits"),
    "GET land-today/{id}/figures/": Endpoint(of=("property",)),
    "GET land-today/{id}/html/": Endpoint(of=("property",)),
    "GET land-calendar/": Endpoint(
        query={**ON_IT, "first_on": "2025-11-01", "last_on": "2026-01-31"}
    ),
    "GET my-season/": Endpoint(never=OWN_SEASON),
    "GET my-season/html/": Endpoint(never=OWN_SEASON),
    "GET my-season/tables/{table}/": Endpoint(never=OWN_SEASON, table="sits"),
    **_read("land-notes", "land_note"),
    "POST land-notes/": Endpoint(
        body={**ON_IT, "happened_on": "2025-10-12", "topic": "gate", "what": "It stood open."}
    ),
    "PATCH land-notes/{id}/": Endpoint(of=("land_note",), body={}),
    "POST land-notes/{id}/retire/": Endpoint(of=("land_note",)),
}

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

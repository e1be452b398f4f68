"""Endpoints of land, people, stands, leases and regulations, and of what happens there."""

from tests.coop.access.endpoint import (
    EMERGENCIES,
    INCIDENT_FILES,
    INCIDENTS,
    LEASES,
    NOT_THEIR_DEER,
    ON_IT,
    OWN_NOTE,
    OWNER_MAY,
    POINT,
    PROPERTY,
    RENTS,
    SITS,
    SQUARE,
    STATE,
    Endpoint,
    Ref,
    read,
)

OF_LAND: dict[str, Endpoint] = {
    # land
    **read("cooperatives", "cooperative"),
    "PATCH cooperatives/{id}/": Endpoint(of=("cooperative",), body={}, in_cooperative=True),
    **read("properties", "property"),
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
    **read("features", "feature"),
    "POST features/": Endpoint(body={**ON_IT, "kind": "bedding", "name": "New", "geometry": POINT}),
    "PATCH features/{id}/": Endpoint(of=("feature",), body={}),
    "POST features/{id}/retire/": Endpoint(of=("feature",)),
    **read("closures", "closure"),
    "POST closures/": Endpoint(
        body={**ON_IT, "first_on": "2026-02-01", "last_on": "2026-02-02", "reason": "Logging"}
    ),
    "POST closures/{id}/lift/": Endpoint(of=("closure",)),
    "GET closures/{id}/outcome/": Endpoint(of=("closure",)),
    **read("conditions", "condition"),
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
    **read("gates", "gate"),
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
    **read("parking-places", "parking_place"),
    "POST parking-places/": Endpoint(
        body={**ON_IT, "name": "New", "longitude": "longitude", "latitude": "latitude"}
    ),
    "PATCH parking-places/{id}/": Endpoint(of=("parking_place",), body={}),
    "POST parking-places/{id}/retire/": Endpoint(of=("parking_place",)),
    **read("driving-directions", "driving_directions"),
    "POST driving-directions/": Endpoint(body=ON_IT, refused={400: "entered already"}),
    "PATCH driving-directions/{id}/": Endpoint(of=("driving_directions",), body={}),
    "GET sits/{id}/arrival/": Endpoint(of=SITS),
    "GET sits/{id}/gate-codes/": Endpoint(of=SITS, refused={409: "not on the day of the sit"}),
    **read("emergency-sheets", "emergency_sheet"),
    "POST emergency-sheets/": Endpoint(body=ON_IT, refused={400: "entered already"}),
    "PATCH emergency-sheets/{id}/": Endpoint(of=("emergency_sheet",), body={}),
    **read("stand-emergencies", "stand_emergency"),
    "POST stand-emergencies/": Endpoint(body={"stand": Ref("third_stand")}),
    "PATCH stand-emergencies/{id}/": Endpoint(of=("stand_emergency",), body={}),
    "GET properties/{id}/emergency-sheet/": Endpoint(of=("property",)),
    **read("emergencies", *EMERGENCIES),
    "POST emergencies/": Endpoint(body={**ON_IT, "person": Ref("person"), "why": "A fall"}),
    "POST emergencies/{id}/end/": Endpoint(of=EMERGENCIES),
    "GET emergencies/{id}/medical-note/": Endpoint(of=EMERGENCIES, also=OWNER_MAY),
    "GET medical-notes/mine/": Endpoint(never=OWN_NOTE),
    "PUT medical-notes/mine/": Endpoint(body={"text": "Bee stings"}, never=OWN_NOTE),
    "DELETE medical-notes/mine/": Endpoint(never=OWN_NOTE),
    "GET medical-notes/readings/": Endpoint(never=OWN_NOTE),
    **read("trackings", "tracking"),
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
    **read("trackers", "tracker"),
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
    **read("neighbours", "neighbour"),
    "POST neighbours/": Endpoint(body={**ON_IT, "name": "New", "ground": "West"}),
    "PATCH neighbours/{id}/": Endpoint(of=("neighbour",), body={}),
    "POST neighbours/{id}/retire/": Endpoint(of=("neighbour",)),
    # trouble
    **read("incidents", *INCIDENTS),
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
    **read("incident-follow-ups", "incident_follow_up"),
    **read("incident-files", *INCIDENT_FILES),
    "GET incident-files/{id}/content/": Endpoint(of=INCIDENT_FILES),
    "GET incident-files/{id}/original/": Endpoint(of=INCIDENT_FILES),
    **read("told-incidents", "told_incident"),
    **read("equipment", "equipment"),
    "POST equipment/": Endpoint(body={**ON_IT, "kind": "ladder", "name": "Long ladder"}),
    "PATCH equipment/{id}/": Endpoint(of=("equipment",), body={}),
    "POST equipment/{id}/retire/": Endpoint(of=("equipment",)),
    # people
    **read("persons", "person", "newcomer", "own_person"),
    "POST persons/": Endpoint(
        body={"cooperative": Ref("cooperative"), "name": "Ada Example"}, in_cooperative=True
    ),
    "PATCH persons/{id}/": Endpoint(
        of=("person", "newcomer", "own_person"), body={}, also=OWNER_MAY
    ),
    "POST persons/{id}/retire/": Endpoint(of=("person", "newcomer", "own_person")),
    "POST persons/{id}/erase/": Endpoint(
        of=("person", "newcomer", "own_person"),
        body={"name": "Nobody Example"},
        refused={400: "not their name"},
    ),
    "POST persons/{id}/invite/": Endpoint(
        of=("person", "newcomer", "own_person"), refused={400: "has an account, or no address"}
    ),
    **read("guests", "guest", "own_guest"),
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
    **read("members", "member", "own_member"),
    "POST members/": Endpoint(
        body={"person": Ref("newcomer"), "joined_on": "2025-10-01"}, in_cooperative=True
    ),
    "PATCH members/{id}/": Endpoint(of=("member", "own_member"), body={}),
    **read("papers", "paper", "own_paper"),
    "POST papers/": Endpoint(body={"person": Ref("person"), "kind": "rifle_course"}),
    "PATCH papers/{id}/": Endpoint(of=("paper", "own_paper"), body={}),
    **read("youths", "youth", "own_youth"),
    "POST youths/": Endpoint(body={"person": Ref("newcomer"), "youth_until": "2027-05-31"}),
    "PATCH youths/{id}/": Endpoint(of=("youth", "own_youth"), body={}),
    **read("dues", "due", "own_due"),
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
    **read("work-days", "work_day", "own_work_day"),
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
    **read("roles", "role"),
    "POST roles/": Endpoint(
        body={"person": Ref("person"), "role": "landowner", "property": PROPERTY}
    ),
    "POST roles/{id}/revoke/": Endpoint(of=("role",)),
    **read("outfitters", "outfitter"),
    "POST outfitters/": Endpoint(
        body={"cooperative": Ref("cooperative"), "name": "New outfitter"}, in_cooperative=True
    ),
    "PATCH outfitters/{id}/": Endpoint(of=("outfitter",), body={}),
    "POST outfitters/{id}/renew-secret/": Endpoint(of=("outfitter",)),
    "POST outfitters/{id}/retire/": Endpoint(of=("outfitter",)),
    **read("shares", "share"),
    "POST shares/": Endpoint(
        body={"outfitter": Ref("outfitter"), "property": PROPERTY}, refused={400: "shared already"}
    ),
    "POST shares/{id}/revoke/": Endpoint(of=("share",)),
    # stands, sessions
    **read("stands", "stand"),
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
    **read("inspections", "inspection"),
    **read("stand-exclusions", "exclusion"),
    "POST stand-exclusions/": Endpoint(
        body={"first": Ref("stand"), "second": Ref("third_stand"), "reason": "Line of fire"}
    ),
    "DELETE stand-exclusions/{id}/": Endpoint(of=("exclusion",)),
    **read("seasons", "season"),
    # leases, regulations
    **read("leases", *LEASES),
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
    **read("lease-terms", "lease_terms"),
    **read("rents", *RENTS),
    "POST rents/": Endpoint(
        body={
            "lease": Ref("lease"),
            "amount": "1200.00",
            "currency": "USD",
            "due_on": "2026-02-01",
        }
    ),
    "PATCH rents/{id}/": Endpoint(of=RENTS, body={}),
    **read("regulations", "regulation"),
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
}

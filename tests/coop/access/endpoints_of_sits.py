"""Endpoints of sits, the herd, plans and errands."""

from coop.access.roles import Action
from tests.coop.access.endpoint import (
    CLIENT,
    EVENING,
    KEPT_PLACES,
    ON_IT,
    OWNER_MAY,
    PLANS,
    SITS,
    STATE,
    WAITING,
    Endpoint,
    Ref,
    answer_to_offer,
    read,
    sit_action,
)

OF_SITS: dict[str, Endpoint] = {
    # sits
    "GET sits/": Endpoint(lists=SITS),
    "GET sits/{id}/": Endpoint(of=SITS),
    "GET sits/changes/": Endpoint(lists=SITS),
    "GET offers/changes/": Endpoint(),
    "POST sit-exports/": Endpoint(
        body={"property": Ref("land_of_sits"), "first_on": "2025-10-01", "last_on": "2025-12-31"}
    ),
    "GET sit-exports/{id}/": Endpoint(of=("own_sit_export", "sit_export")),
    "GET sit-exports/{id}/file/": Endpoint(of=("own_sit_export", "sit_export")),
    "POST harvest-exports/": Endpoint(
        body={**ON_IT, "first_on": "2025-10-01", "last_on": "2025-12-31"}
    ),
    "GET harvest-exports/{id}/": Endpoint(of=("own_harvest_export", "harvest_export")),
    "GET harvest-exports/{id}/file/": Endpoint(of=("own_harvest_export", "harvest_export")),
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
    "POST sits/{id}/acknowledge/": sit_action(),
    "GET sits/{id}/briefing/": Endpoint(of=SITS),
    "POST sits/{id}/cancel/": sit_action(),
    "POST sits/{id}/check-in/": Endpoint(
        of=SITS, body={}, also=OWNER_MAY, refused={**STATE, 400: "too late for a session gone by"}
    ),
    "POST sits/{id}/check-out/": sit_action(),
    "POST sits/{id}/excuse/": Endpoint(of=SITS, body={}, refused=STATE),
    "POST sits/{id}/mark-missed/": Endpoint(of=SITS, refused=STATE),
    "POST sits/{id}/report/": sit_action(),
    "POST sits/{id}/tracking/": Endpoint(
        of=SITS, body={"back_by": "2025-11-02T03:00:00Z"}, also=OWNER_MAY, refused=STATE
    ),
    "POST sits/{id}/transfer/": Endpoint(
        of=SITS,
        body={"receiver": Ref("person"), "reason": "Ill"},
        refused={**STATE, 400: "its own holder; a client's sit"},
    ),
    **read("sit-transfers", "sit_transfer", "own_sit_transfer", "received_sit_transfer"),
    "POST sit-transfers/": Endpoint(
        body={"sit": Ref("own_sit"), "receiver": Ref("person")},
        never=dict.fromkeys(("manager", "coordinator"), "only its holder offers a sit"),
    ),
    "POST sit-transfers/{id}/accept/": answer_to_offer(),
    "POST sit-transfers/{id}/decline/": answer_to_offer(),
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
    **read("sit-reports", "sit_report", "own_sit_report", "client_sit_report"),
    "PATCH sit-reports/{id}/": Endpoint(
        of=("sit_report", "own_sit_report", "client_sit_report"), body={}, also=OWNER_MAY
    ),
    **read("harvests", "harvest", "own_harvest"),
    "POST harvests/": Endpoint(
        body={
            **ON_IT,
            "person": Ref("person"),
            "harvest_class": "antlerless",
            "taken_at": "2025-11-01T12:00:00Z",
        },
        application_body={
            **ON_IT,
            "sit": Ref("past_client_sit"),
            "harvest_class": "antlerless",
            "taken_at": "2025-10-28T21:00:00Z",
        },
        never={"member": "for somebody else a manager records"},
    ),
    "PATCH harvests/{id}/": Endpoint(
        of=("harvest", "own_harvest"),
        body={},
        also=OWNER_MAY,
        never={"member": "somebody else's deer is corrected by the manager"},
    ),
    **read("harvest-plans", "harvest_plan"),
    "POST harvest-plans/": Endpoint(
        body={**ON_IT, "season_year": 2025, "harvest_class": "antlerless", "planned": 8}
    ),
    "PATCH harvest-plans/{id}/": Endpoint(of=("harvest_plan",), body={"planned": 4}),
    "DELETE harvest-plans/{id}/": Endpoint(of=("harvest_plan",)),
    "GET harvests/export/": Endpoint(query=ON_IT),
    "GET harvest-figures/": Endpoint(query=ON_IT),
    **read("harvest-places", *KEPT_PLACES),
    "POST harvest-places/{id}/give-up/": Endpoint(of=KEPT_PLACES, also=OWNER_MAY),
    "POST harvest-places/{id}/ask-again/": Endpoint(of=KEPT_PLACES, also=OWNER_MAY),
    **read("tags", "tag", "own_tag"),
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
    **read("camera-surveys", "camera_survey"),
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
    "GET rotation-plans/{id}/preview/": Endpoint(of=PLANS, refused=STATE),
    "POST rotation-plans/{id}/publish/": Endpoint(
        of=PLANS, everywhere=Action.ROTATION_WRITE, refused=STATE
    ),
    "GET rotation-plans/{id}/relaxations/": Endpoint(of=PLANS, everywhere=Action.ROTATION_WRITE),
    "POST rotation-plans/{id}/relaxations/": Endpoint(of=PLANS, everywhere=Action.ROTATION_WRITE),
    "GET rotation-plans/{id}/seats/": Endpoint(of=PLANS),
    "GET rotation-plans/{id}/unmet/": Endpoint(of=PLANS),
    **read("errands", "errand"),
    "GET errand-walks/": Endpoint(query=ON_IT),
    "POST errands/": Endpoint(
        body={"kind": "trim", "stand": Ref("stand"), "reason": "A limb hangs into the lane."}
    ),
    "POST errands/{id}/assign/": Endpoint(of=("errand",), body={"assignee": Ref("person")}),
    "POST errands/{id}/cancel/": Endpoint(of=("errand",), body={}),
    "POST errands/{id}/finish/": Endpoint(of=("errand",), body={}),
    **read("work-templates", "work_template"),
    "POST work-templates/": Endpoint(
        body={**ON_IT, "task": "survey", "title": "Count sign", "anchor": "peak"}
    ),
    "PATCH work-templates/{id}/": Endpoint(of=("work_template",), body={}),
    "POST work-templates/{id}/retire/": Endpoint(of=("work_template",)),
    **read("work-items", "work_item"),
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
}

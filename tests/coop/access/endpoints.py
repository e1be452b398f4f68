"""How each endpoint is called in the world: what ``{id}`` names, what is sent, what is listed.

A new endpoint gets its row here or in the table of its floor, a new kind of object is made in
``ground``, ``air_and_scrapes`` or ``doings`` and gets its row in ``kinds``; what each caller is
then answered follows from the permission table. Departures from the table stand in ``also`` and
``never``, each with its reason.
"""

from tests.coop.access.endpoint import (
    NO_FACTOR,
    NOT_THEIR_WEBHOOK,
    ON_IT,
    OWN_SEASON,
    OWNER_MAY,
    WEBHOOKS,
    Endpoint,
    Ref,
    read,
)
from tests.coop.access.endpoints_of_land import OF_LAND
from tests.coop.access.endpoints_of_scrapes import OF_SCRAPES
from tests.coop.access.endpoints_of_sits import OF_SITS

ENDPOINTS: dict[str, Endpoint] = {
    **OF_LAND,
    **OF_SCRAPES,
    **OF_SITS,
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
    **read("jobs", "job", "own_job"),
    "GET jobs/{id}/log/": Endpoint(of=("job", "own_job")),
    "POST jobs/{id}/cancel/": Endpoint(of=("job", "own_job"), also=OWNER_MAY),
    **read("messages", "message"),
    "GET notice-preferences/mine/": Endpoint(never={"application": "it gets no notices"}),
    "PUT notice-preferences/mine/": Endpoint(body={}, never={"application": "it gets no notices"}),
    "POST messages/{id}/send-again/": Endpoint(of=("message",), in_cooperative=True),
    **read("webhooks", *WEBHOOKS),
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
    **read("webhook-deliveries", "webhook_delivery", "own_webhook_delivery"),
    "POST webhook-deliveries/{id}/replay/": Endpoint(
        of=("webhook_delivery", "own_webhook_delivery")
    ),
    **read("audit-events", "audit_event"),
    # reports
    **read("reports", "report"),
    "POST reports/": Endpoint(body={**ON_IT, "month": "2025-10"}),
    "GET reports/{id}/appendix/": Endpoint(of=("report",)),
    "GET reports/{id}/figures/": Endpoint(of=("report",)),
    "GET reports/{id}/html/": Endpoint(of=("report",)),
    "GET reports/{id}/pdf/": Endpoint(of=("report",)),
    "GET reports/{id}/tables/{table}/": Endpoint(of=("report",)),
    **read("season-reports", "season_report"),
    "POST season-reports/": Endpoint(
        body={"cooperative": Ref("cooperative"), "season_year": 2025}, in_cooperative=True
    ),
    "GET season-reports/{id}/figures/": Endpoint(of=("season_report",)),
    "GET season-reports/{id}/html/": Endpoint(of=("season_report",)),
    "GET season-reports/{id}/pdf/": Endpoint(of=("season_report",)),
    "GET season-reports/{id}/tables/{table}/": Endpoint(of=("season_report",), table="deer"),
    "GET week-ahead/": Endpoint(),
    "GET week-ahead/{id}/figures/": Endpoint(of=("property",)),
    "GET week-ahead/{id}/html/": Endpoint(of=("property",)),
    "GET week-ahead/{id}/tables/{table}/": Endpoint(of=("property",), table="sits"),
    "GET land-today/": Endpoint(),
    "GET land-today/{id}/figures/": Endpoint(of=("property",)),
    "GET land-today/{id}/html/": Endpoint(of=("property",)),
    "GET land-calendar/": Endpoint(
        query={**ON_IT, "first_on": "2025-11-01", "last_on": "2026-01-31"}
    ),
    "GET my-season/": Endpoint(never=OWN_SEASON),
    "GET my-season/html/": Endpoint(never=OWN_SEASON),
    "GET my-season/tables/{table}/": Endpoint(never=OWN_SEASON, table="sits"),
    **read("land-notes", "land_note"),
    "POST land-notes/": Endpoint(
        body={**ON_IT, "happened_on": "2025-10-12", "topic": "gate", "what": "It stood open."}
    ),
    "PATCH land-notes/{id}/": Endpoint(of=("land_note",), body={}),
    "POST land-notes/{id}/retire/": Endpoint(of=("land_note",)),
}

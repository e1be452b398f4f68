"""Endpoints of the air, of scrapes and of cameras."""

from tests.coop.access.endpoint import HOURS, ON_IT, POINT, STATE, Endpoint, Ref, read

OF_SCRAPES: dict[str, Endpoint] = {
    # wind
    **read("forecasts", "forecast"),
    "POST forecasts/": Endpoint(body={**ON_IT, "source": "own", "hours": HOURS}),
    "GET observed-hours/": Endpoint(lists=("observed_hour",)),
    "POST observed-hours/": Endpoint(body={**ON_IT, "source": "own", "hours": HOURS}),
    **read("fit-calibrations", "calibration"),
    **read("wind-histories", "wind_history"),
    "POST wind-histories/sum-up/": Endpoint(body={**ON_IT, "season_year": 2024}),
    "GET wind-histories/{id}/picture/": Endpoint(
        of=("wind_history",), query={"stand": Ref("stand")}
    ),
    "GET visit-hours/": Endpoint(
        query={**ON_IT, "longitude": "longitude", "latitude": "latitude", "hours": "2"}
    ),
    **read("stand-winds", "stand_wind"),
    "POST stand-winds/learn/": Endpoint(body=ON_IT),
    **read("fits", "fit"),
    "POST fits/recompute/": Endpoint(body=ON_IT),
    "GET fits/{id}/alternatives/": Endpoint(of=("fit",)),
    # scrapes, cameras
    **read("scrapes", "scrape"),
    "POST scrapes/": Endpoint(body={**ON_IT, "name": "New", "kind": "mock", "geometry": POINT}),
    "PATCH scrapes/{id}/": Endpoint(of=("scrape",), body={}),
    "GET scrapes/{id}/events/": Endpoint(of=("scrape",)),
    "POST scrapes/{id}/events/": Endpoint(
        of=("scrape",), body={"happened_on": "2025-10-04", "what": "repaired"}
    ),
    "POST scrapes/{id}/retire/": Endpoint(of=("scrape",), refused=STATE),
    **read("cameras", "camera"),
    "POST cameras/": Endpoint(body={**ON_IT, "name": "New"}),
    "PATCH cameras/{id}/": Endpoint(of=("camera",), body={}),
    "GET cameras/{id}/health/": Endpoint(of=("camera",)),
    "POST cameras/{id}/retire/": Endpoint(of=("camera",), refused=STATE),
    **read("deployments", "deployment"),
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
    **read("outages", "outage"),
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
    **read("observation-imports", "observation_import"),
    "POST observation-imports/": Endpoint(body={**ON_IT, "format": "csv", "file": "table"}),
    "POST observation-exports/": Endpoint(body=ON_IT),
    "GET observation-exports/{id}/": Endpoint(of=("observation_export",)),
    **read("observation-sources", "observation_source"),
    "POST observation-sources/": Endpoint(
        body={**ON_IT, "name": "sheet", "columns": {"instant": "Date", "deployment": "Camera"}}
    ),
    "PATCH observation-sources/{id}/": Endpoint(of=("observation_source",), body={}),
    "GET observations/": Endpoint(lists=("observation",)),
    "GET observations/export/": Endpoint(lists=("observation",)),
    "GET visits/": Endpoint(query=ON_IT),
    "GET visits/export/": Endpoint(query=ON_IT),
    "GET visits/{id}/": Endpoint(of=("visited_scrape",)),
    **read("scent-applications", "scent_application"),
    "POST scent-applications/": Endpoint(
        body={"scrape": Ref("scrape"), "scent": "synthetic forehead gland"},
        refused={409: "the property's settings permit none"},
    ),
    "GET scent-applications/permitted/": Endpoint(query=ON_IT),
    "GET scent-effects/": Endpoint(query=ON_IT),
    **read("scrape-reviews", "scrape_review"),
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
}

"""The live client against answers in the documented shape; no network is touched."""

from types import SimpleNamespace

import httpx
import pytest
import respx
import stamina

from properties.wind.forecast_client import (
    ForecastClient,
    ForecastRefused,
    ForecastService,
    ForecastServiceMisconfigured,
    ForecastUnavailable,
    PlaceNotCovered,
)
from properties.wind.gridpoint_forecast import (
    GridCell,
    UnreadableForecast,
    read_gridpoint_forecast,
)

BASE = "https://weather.example"
CELL = GridCell("ABC", 12, 34)
AGENT = "deer-cooperative tests, coordinator@cooperative.example"
POINT = {"properties": {"gridId": "ABC", "gridX": 12, "gridY": 34, "timeZone": "America/Chicago"}}
SPAN = "2026-11-07T12:00:00+00:00/PT2H"
GRIDPOINT = {
    "properties": {
        "windDirection": {
            "uom": "wmoUnit:degree_(angle)",
            "values": [{"validTime": SPAN, "value": 270}],
        },
        "windSpeed": {"uom": "wmoUnit:km_h-1", "values": [{"validTime": SPAN, "value": 18}]},
    }
}


@pytest.fixture
def server():
    with respx.mock(base_url=BASE, assert_all_called=False) as router:
        yield router


@pytest.fixture
def pauses(monkeypatch):
    """The pauses the client would have made, in seconds; none is waited out."""
    made = []
    was_active = stamina.is_active()
    stamina.set_active(True)
    monkeypatch.setattr("tenacity.nap.time", SimpleNamespace(sleep=made.append))
    yield made
    stamina.set_active(was_active)


@pytest.fixture
def client(pauses):
    service = ForecastService(user_agent=AGENT, base_url=BASE, first_wait_s=1, longest_wait_s=20)
    with ForecastClient(service) as connection:
        yield connection


def place(client):
    return client.find_cell(latitude_deg=41.96712, longitude_deg=-71.18896)


def test_a_place_is_turned_into_its_cell_and_the_cell_into_a_forecast(client, server):
    server.get("/points/41.9671,-71.189").respond(json=POINT)
    server.get("/gridpoints/ABC/12,34").respond(
        json=GRIDPOINT, headers={"Last-Modified": "Sat, 07 Nov 2026 10:30:00 GMT"}
    )

    cell = place(client)
    fetched = client.fetch_gridpoint(cell)

    assert cell == CELL
    assert fetched.last_modified == "Sat, 07 Nov 2026 10:30:00 GMT"
    forecast = read_gridpoint_forecast(fetched.document)
    assert [(hour.wind_from_deg, hour.speed_mps) for hour in forecast.hours] == [(270, 5)] * 2


def test_every_request_says_who_asks(client, server):
    route = server.get("/gridpoints/ABC/12,34").respond(json=GRIDPOINT)
    client.fetch_gridpoint(CELL)
    assert route.calls.last.request.headers["User-Agent"] == AGENT


@pytest.mark.parametrize("agent", ["", "   ", "two\r\nlines", "naïve"])
def test_without_a_usable_user_agent_nothing_is_asked(agent):
    with pytest.raises(ForecastServiceMisconfigured, match="User-Agent"):
        ForecastService(user_agent=agent)


@pytest.mark.parametrize("address", ["", "weather.example", "file:///etc/hosts", "https://"])
def test_the_base_must_be_a_web_address(address):
    with pytest.raises(ForecastServiceMisconfigured, match="web address"):
        ForecastService(user_agent=AGENT, base_url=address)


@pytest.mark.parametrize(
    ("latitude", "longitude", "path"),
    [
        (41.967123, -71.188951, "/points/41.9671,-71.189"),
        (40.0, -100.00004, "/points/40,-100"),
        (0.00001, -0.00001, "/points/0,0"),
    ],
)
def test_coordinates_have_at_most_four_decimals(client, server, latitude, longitude, path):
    route = server.get(path).respond(json=POINT)
    client.find_cell(latitude_deg=latitude, longitude_deg=longitude)
    assert route.call_count == 1


@pytest.mark.parametrize(("latitude", "longitude"), [(91, 0), (0, 181), (float("nan"), 0)])
def test_coordinates_off_the_globe_are_refused_before_asking(client, server, latitude, longitude):
    with pytest.raises(ValueError, match="degrees"):
        client.find_cell(latitude_deg=latitude, longitude_deg=longitude)
    assert len(server.calls) == 0


def test_a_place_outside_the_united_states_is_said_plainly(client, server, pauses):
    server.get(path__startswith="/points/").respond(
        404,
        json={"title": "Data Unavailable", "detail": "no data for 48.1,11.5", "status": 404},
        headers={"Content-Type": "application/problem+json"},
    )
    with pytest.raises(PlaceNotCovered, match="United States") as refused:
        client.find_cell(latitude_deg=48.1, longitude_deg=11.5)
    assert "no data for 48.1,11.5" in refused.value.detail
    assert pauses == []


def test_a_place_at_sea_without_grid_is_not_covered_either(client, server):
    server.get(path__startswith="/points/").respond(json={"properties": {"gridId": None}})
    with pytest.raises(PlaceNotCovered, match="no forecast grid"):
        place(client)


@pytest.mark.parametrize("answer", [{}, {"properties": {"gridId": "../..", "gridX": 1}}])
def test_a_cell_is_checked_before_an_address_is_built_from_it(client, server, answer):
    server.get(path__startswith="/points/").respond(json=answer)
    with pytest.raises(UnreadableForecast):
        place(client)


def test_an_unchanged_forecast_is_not_sent_again(client, server):
    since = "Sat, 07 Nov 2026 10:30:00 GMT"
    route = server.get("/gridpoints/ABC/12,34").respond(304)

    fetched = client.fetch_gridpoint(CELL, if_modified_since=since)

    assert route.calls.last.request.headers["If-Modified-Since"] == since
    assert (fetched.is_unchanged, fetched.document, fetched.last_modified) == (True, None, since)


def test_not_modified_without_having_asked_for_it_is_no_answer(client, server):
    server.get("/gridpoints/ABC/12,34").respond(304)
    with pytest.raises(ForecastRefused, match="304"):
        client.fetch_gridpoint(CELL)


@pytest.mark.parametrize("trouble", [500, 502, 503, 504, 429, 408])
def test_passing_trouble_is_tried_again_with_growing_pauses(client, server, pauses, trouble):
    route = server.get("/gridpoints/ABC/12,34")
    route.side_effect = [httpx.Response(trouble)] * 2 + [httpx.Response(200, json=GRIDPOINT)]

    assert client.fetch_gridpoint(CELL).document
    assert route.call_count == 3
    # first wait 1 s, doubled, each with up to 1 s of jitter
    assert 1 <= pauses[0] <= 2 <= pauses[1] <= 3


@pytest.mark.parametrize(
    "trouble", [httpx.ConnectTimeout("slow"), httpx.ReadTimeout("slow"), httpx.ConnectError("down")]
)
def test_a_lost_connection_is_tried_again(client, server, pauses, trouble):
    route = server.get("/gridpoints/ABC/12,34")
    route.side_effect = [trouble, httpx.Response(200, json=GRIDPOINT)]
    assert client.fetch_gridpoint(CELL).document
    assert len(pauses) == 1


def test_after_the_last_attempt_the_caller_is_told_what_the_service_said(client, server, pauses):
    route = server.get("/gridpoints/ABC/12,34").respond(
        503, json={"title": "Service Unavailable", "detail": "the grid is being replaced"}
    )
    with pytest.raises(ForecastUnavailable, match="the grid is being replaced") as failed:
        client.fetch_gridpoint(CELL)
    assert failed.value.status == 503
    assert (route.call_count, len(pauses)) == (4, 3)


def test_the_pause_that_the_service_asks_for_is_kept(client, server, pauses):
    route = server.get("/gridpoints/ABC/12,34")
    date = {
        "Date": "Sat, 07 Nov 2026 12:00:00 GMT",
        "Retry-After": "Sat, 07 Nov 2026 12:00:09 GMT",
    }
    route.side_effect = [
        httpx.Response(429, headers={"Retry-After": "7"}),
        httpx.Response(503, headers=date),
        httpx.Response(200, json=GRIDPOINT),
    ]
    client.fetch_gridpoint(CELL)
    assert pauses == [7, 9]


def test_a_service_that_asks_for_no_pause_still_gets_one(client, server, pauses):
    route = server.get("/gridpoints/ABC/12,34")
    route.side_effect = [
        httpx.Response(429, headers={"Retry-After": "0"}),
        httpx.Response(200, json=GRIDPOINT),
    ]
    client.fetch_gridpoint(CELL)
    assert pauses == [1]


def test_a_pause_longer_than_the_limit_is_handed_to_the_caller(client, server, pauses):
    route = server.get("/gridpoints/ABC/12,34").respond(429, headers={"Retry-After": "3600"})
    with pytest.raises(ForecastUnavailable) as failed:
        client.fetch_gridpoint(CELL)
    assert failed.value.retry_after_s == 3600
    assert (route.call_count, pauses) == (1, [])


@pytest.mark.parametrize("text", ["soon", "-5", "Sat, 07 Nov 2026 12:00:09 GMT", "9" * 400])
def test_an_unusable_retry_after_falls_back_to_growing_pauses(client, server, pauses, text):
    route = server.get("/gridpoints/ABC/12,34")
    route.side_effect = [
        httpx.Response(429, headers={"Retry-After": text}),
        httpx.Response(200, json=GRIDPOINT),
    ]
    client.fetch_gridpoint(CELL)
    assert 1 <= pauses[0] <= 2


def test_a_refusal_is_reported_with_the_problem_and_not_repeated(client, server, pauses):
    route = server.get("/gridpoints/ABC/12,34").respond(
        400, json={"title": "Bad Request", "detail": "unknown office"}
    )
    with pytest.raises(ForecastRefused, match="400: Bad Request: unknown office"):
        client.fetch_gridpoint(CELL)
    assert (route.call_count, pauses) == (1, [])


def test_a_forbidden_answer_points_at_the_user_agent(client, server):
    server.get("/gridpoints/ABC/12,34").respond(403, html="<h1>Access denied</h1>")
    with pytest.raises(ForecastRefused, match="User-Agent"):
        client.fetch_gridpoint(CELL)


def test_an_answer_over_the_size_limit_is_given_up(server, pauses):
    server.get("/gridpoints/ABC/12,34").respond(content=b"x" * 2000)
    service = ForecastService(user_agent=AGENT, base_url=BASE, max_bytes=1000)
    with (
        ForecastClient(service) as client,
        pytest.raises(ForecastRefused, match="larger than 1000 bytes"),
    ):
        client.fetch_gridpoint(CELL)


def test_an_answer_that_trickles_in_is_given_up(server, pauses):
    server.get("/gridpoints/ABC/12,34").respond(json=GRIDPOINT)
    ticks = iter(range(0, 10_000, 20))
    service = ForecastService(user_agent=AGENT, base_url=BASE, attempts=1, answer_within_s=15)
    with (
        ForecastClient(service, monotonic=lambda: next(ticks)) as client,
        pytest.raises(ForecastUnavailable, match="too slowly"),
    ):
        client.fetch_gridpoint(CELL)


def test_a_redirect_within_the_service_is_followed(client, server):
    server.get("/points/41.9671,-71.189").respond(301, headers={"Location": "/points/41.97,-71.19"})
    server.get("/points/41.97,-71.19").respond(json=POINT)
    assert place(client) == CELL


@pytest.mark.parametrize(
    "target", ["https://elsewhere.example/points/1,1", "http://weather.example/points/1,1", "//x/"]
)
def test_a_redirect_to_another_host_is_not_followed(client, server, target):
    server.get("/points/41.9671,-71.189").respond(302, headers={"Location": target})
    with pytest.raises(ForecastRefused, match="another host"):
        place(client)
    assert len(server.calls) == 1


def test_a_redirect_in_circles_ends(client, server):
    server.get("/points/41.9671,-71.189").respond(
        301, headers={"Location": "/points/41.9671,-71.189"}
    )
    with pytest.raises(ForecastRefused, match="circles"):
        place(client)


def test_a_base_address_with_a_path_keeps_it(server, pauses):
    route = server.get("/mirror/gridpoints/ABC/12,34").respond(json=GRIDPOINT)
    service = ForecastService(user_agent=AGENT, base_url=f"{BASE}/mirror/")
    with ForecastClient(service) as client:
        client.fetch_gridpoint(CELL)
    assert route.call_count == 1

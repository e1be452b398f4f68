"""What would make a sit better: ways along mapped routes, a ride, another session."""

from datetime import date, timedelta

import numpy as np
import pytest
import time_machine

from coop.access.actors import system_actor
from properties.land.geodesy import LocalFrame
from properties.land.models import Feature
from properties.land.services import create_feature
from properties.wind import services
from properties.wind.access_routes import routes_to
from properties.wind.alternatives import alternatives_to
from properties.wind.models import SessionFit
from properties.wind.weather_hours import WeatherImport
from tests.cast import make_stand
from tests.properties.leases.plots import leased
from tests.properties.wind.test_fits_from_the_map import (
    NOW,
    SATURDAY,
    compute,
    forecast,
    map_bedding,
    store,
)

EAST_M = 1 / 81_240.0
NORTH_M = 1 / 111_100.0


def line(land, *points):
    """A GeoJSON line through (east, north) metres from the property's centre."""
    coordinates = [[land.longitude + e * EAST_M, land.latitude + n * NORTH_M] for e, n in points]
    return {"type": "LineString", "coordinates": coordinates}


def mapped(land, kind, name, geometry):
    return create_feature(
        actor=system_actor("test"),
        land=land,
        fields={"kind": kind, "name": name, "geometry": geometry},
        now=NOW,
    )


def ways(land, reach_m=60.0):
    frame = LocalFrame(origin_lon=land.longitude, origin_lat=land.latitude)
    features = list(Feature.objects.filter(property=land))
    return routes_to(np.zeros(2), features=features, frame=frame, reach_m=reach_m)


def test_a_route_that_ends_near_the_stand_leads_to_it_and_ends_at_it(cast):
    mapped(cast.north, "access_route", "Lane", line(cast.north, (-400, 0), (-20, 0)))

    found = ways(cast.north)

    assert list(found) == ["Lane"]
    assert found["Lane"][0] == pytest.approx([-400, 0], abs=1)
    assert found["Lane"][-1].tolist() == [0, 0]


def test_a_route_drawn_from_the_stand_outwards_is_turned_round(cast):
    mapped(cast.north, "access_route", "Lane", line(cast.north, (0, 10), (0, 300)))

    (way,) = ways(cast.north).values()

    assert way[0] == pytest.approx([0, 300], abs=1)
    assert way[-1].tolist() == [0, 0]


def test_a_route_that_passes_the_stand_is_two_ways(cast):
    mapped(cast.north, "access_route", "Ridge", line(cast.north, (-300, 20), (300, 20)))

    found = ways(cast.north)

    assert sorted(found) == ["Ridge, from its end", "Ridge, from its start"]
    assert found["Ridge, from its end"][0] == pytest.approx([300, 20], abs=1)


def test_a_route_out_of_reach_and_what_is_no_route_lead_nowhere(cast):
    mapped(cast.north, "access_route", "Far", line(cast.north, (-300, 100), (300, 100)))
    mapped(cast.north, "corridor", "Creek", line(cast.north, (-300, 0), (300, 0)))

    assert ways(cast.north) == {}


@pytest.fixture
def spoiled(cast):
    """A blind whose way in crosses a corridor, beside a lane that does not."""
    mapped(cast.north, "corridor", "Creek", line(cast.north, (-200, -300), (-200, 300)))
    mapped(cast.north, "access_route", "Lane", line(cast.north, (300, 0), (10, 0)))
    stand = make_stand(
        cast.north,
        "Low blind",
        kind="ground_blind",
        seat_height_m=1,
        cover="open",
        approach_route=line(cast.north, (-400, 0), (0, 0)),
    )
    store(cast.north, 0)
    compute(cast.north)
    return stand


def evening(**more):
    return SessionFit.objects.select_related("stand", "property", "issue").get(
        kind="evening", local_date=SATURDAY, **more
    )


def test_the_lane_that_does_not_cross_the_trail_is_proposed_with_its_fit(cast, spoiled):
    row = evening()

    found = alternatives_to(row, now=NOW)

    lane = next(way for way in found.ways if (way.part, way.way) == ("approach", "Lane"))
    assert lane.answer.fit > row.fit + 0.05
    assert found.ways[0].answer.fit == max(way.answer.fit for way in found.ways)
    assert any(way.way == "ride" for way in found.ways)


@pytest.mark.parametrize(("vehicles", "is_proposed"), [(True, True), (None, True), (False, False)])
def test_a_ride_is_proposed_only_where_the_lease_does_not_forbid_vehicles(
    cast, spoiled, vehicles, is_proposed
):
    leased(cast, vehicles=vehicles)
    found = alternatives_to(evening(), now=NOW)
    assert any(way.way == "ride" for way in found.ways) is is_proposed
    assert any(way.way == "Lane" for way in found.ways)


def test_the_lease_of_another_time_forbids_no_ride(cast, spoiled):
    leased(cast, vehicles=False, first_on=date(2026, 8, 1), last_on=date(2027, 7, 31))
    assert any(way.way == "ride" for way in alternatives_to(evening(), now=NOW).ways)


def test_a_sit_that_nothing_spoils_has_no_better_way(cast):
    map_bedding(cast.north, east_of=0.002)
    make_stand(cast.north, "Low blind", kind="ground_blind", seat_height_m=1, cover="open")
    store(cast.north, 90)
    compute(cast.north)

    assert alternatives_to(evening(), now=NOW).ways == ()


def turning(land):
    """West until midnight before Sunday, east from then on."""
    west, east = forecast(270).hours, forecast(90).hours
    hours = tuple(
        w if number < 42 else e for number, (w, e) in enumerate(zip(west, east, strict=True))
    )
    services.store_forecast(
        actor=system_actor("test"),
        land=land,
        found=WeatherImport(hours=hours, skipped=(), read=len(hours), issued_at=NOW),
        source="test",
        now=NOW,
    )


def test_a_session_of_the_coming_days_with_a_better_wind_is_named(cast):
    map_bedding(cast.north, east_of=0.002)
    make_stand(cast.north, "Low blind", kind="ground_blind", seat_height_m=1, cover="open")
    turning(cast.north)
    compute(cast.north, SATURDAY, SATURDAY + timedelta(days=1))
    row = evening()

    found = alternatives_to(row, now=NOW)

    assert row.verdict == "unfit"
    assert {each.local_date for each in found.sessions} == {SATURDAY + timedelta(days=1)}
    assert all(each.fit > row.fit for each in found.sessions)
    assert alternatives_to(row, now=NOW + timedelta(days=9)).sessions == ()
    with time_machine.travel(NOW, tick=False):
        told = cast.client(cast.member).get(f"/api/v1/fits/{row.id}/alternatives/").json()
    assert told["sessions"]
    for each in told["sessions"]:
        assert (each["starts_at"][-6:], each["ends_at"][-6:]) == ("-06:00", "-06:00")


def test_a_member_asks_what_would_be_better(cast, spoiled):
    row = evening()

    answer = cast.client(cast.member).get(f"/api/v1/fits/{row.id}/alternatives/")

    assert answer.status_code == 200
    assert ("approach", "Lane") in {(way["part"], way["way"]) for way in answer.data["ways"]}
    assert "not judged" in answer.data["notice"]


def test_routes_are_not_told_to_whoever_may_not_see_the_map(cast, spoiled):
    url = f"/api/v1/fits/{evening().id}/alternatives/"

    for client in (cast.application_client(), cast.client(cast.stranger)):
        assert client.get(url).status_code in (403, 404)


def visit(client, land, **changes):
    asked = {
        "property": land.id,
        "longitude": land.longitude,
        "latitude": land.latitude,
        "hours": 24,
        **changes,
    }
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    return client.get(f"/api/v1/visit-hours/?{query}")


def test_the_best_hours_for_a_visit_are_those_whose_wind_spares_the_bedding(cast):
    map_bedding(cast.north, east_of=0.001)
    turning(cast.north)
    with time_machine.travel(NOW, tick=False):
        answer = visit(cast.client(cast.member), cast.north, hours=70)

    assert answer.status_code == 200, answer.data
    assert len(answer.data["hours"]) == 70
    assert answer.data["unknown_hours"] == 0
    assert {hour["wind_from_deg"] for hour in answer.data["best"]} == {90.0}
    west = [hour["fit"] for hour in answer.data["hours"] if hour["wind_from_deg"] == 270.0]
    assert max(west) < answer.data["best"][0]["fit"]


def test_hours_beyond_the_forecast_are_counted_and_not_invented(cast):
    map_bedding(cast.north, east_of=0.001)
    store(cast.north, 270)
    with time_machine.travel(NOW, tick=False):
        answer = visit(cast.client(cast.manager), cast.north, hours=100)

    assert (len(answer.data["hours"]), answer.data["unknown_hours"]) == (71, 29)


def test_a_place_elsewhere_no_forecast_and_strangers_get_no_hours(cast):
    member = cast.client(cast.member)

    assert visit(member, cast.north).status_code == 404
    store(cast.north, 270)
    elsewhere = visit(member, cast.north, latitude=cast.north.latitude + 1)
    assert elsewhere.status_code == 400
    assert visit(member, cast.north, hours=0).status_code == 400
    assert visit(cast.client(cast.stranger), cast.north).status_code == 400
    assert visit(cast.application_client(), cast.north).status_code == 403

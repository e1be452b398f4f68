"""Scrapes over HTTP: who sees them, who maps them, and that the wind is told."""

from datetime import timedelta

import pytest
from django.utils import timezone

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.land.local_dates import local_date_on
from properties.wind.settings import WindSettings
from properties.wind.surroundings import surroundings_of
from scrapes.sites.models import Scrape, ScrapeEvent
from scrapes.sites.queries import point_sources

from .places import make_scrape

URL = "/api/v1/scrapes/"
PLACE = {"type": "Point", "coordinates": [-91.4921, 43.2073]}


def body(land, **fields):
    return {"property": land.id, "name": "Oak", "kind": "mock", "geometry": PLACE, **fields}


def names(answer):
    assert answer.status_code == 200, answer.data
    return [row["name"] for row in answer.data["results"]]


def test_a_manager_maps_a_scrape_and_gets_its_place_back(cast):
    answer = cast.client(cast.manager).post(
        URL, body(cast.north, branch_azimuth_deg=360, made_on="2025-09-01"), format="json"
    )

    assert answer.status_code == 201, answer.data
    assert answer.data["geometry"] == PLACE
    assert answer.data["branch_azimuth_deg"] == 0
    assert answer["Location"] == f"{URL}{answer.data['id']}/"
    assert AuditEvent.objects.get(object_id=answer.data["id"]).actor_name == "Max Manager"


def test_a_scrape_is_not_made_on_a_day_to_come(cast):
    client = cast.client(cast.manager)
    today = local_date_on(cast.north, timezone.now())
    days = [(today + timedelta(days=1), 400), (today, 201)]
    for day, status in days:
        answer = client.post(URL, body(cast.north, made_on=day.isoformat()), format="json")
        assert answer.status_code == status, answer.data
    changed = client.patch(
        f"{URL}{answer.data['id']}/", {"made_on": "2127-01-01"}, format="json", HTTP_IF_MATCH="*"
    )

    assert changed.status_code == 400
    assert [error["pointer"] for error in changed.data["errors"]] == ["#/made_on"]


@pytest.mark.parametrize("change", ["create", "patch", "retire"])
def test_every_change_of_a_scrape_is_told_so_that_fits_follow(cast, change):
    scrape = make_scrape(cast.north)
    client = cast.client(cast.manager)
    Fact.objects.all().delete()
    if change == "create":
        answer = client.post(URL, body(cast.north), format="json")
    elif change == "patch":
        answer = client.patch(
            f"{URL}{scrape.id}/", {"geometry": PLACE}, format="json", HTTP_IF_MATCH='"1"'
        )
    else:
        answer = client.post(f"{URL}{scrape.id}/retire/")

    assert answer.status_code < 300, answer.data
    fact = Fact.objects.get()
    assert (fact.topic, fact.ids) == ("property.changed", {"property": str(cast.north.id)})


def test_a_scrape_outside_the_property_is_refused_by_name(cast):
    elsewhere = {"type": "Point", "coordinates": [-91.2, 43.2073]}
    answer = cast.client(cast.manager).post(
        URL, body(cast.north, geometry=elsewhere), format="json"
    )

    assert answer.status_code == 400
    (error,) = answer.data["errors"]
    assert error["pointer"] == "#/geometry"
    assert "Oak" in error["detail"]
    assert "outside the property" in error["detail"]
    assert not Scrape.objects.exists()


def test_a_scrape_is_no_line(cast):
    line = {"type": "LineString", "coordinates": [[-91.492, 43.207], [-91.491, 43.207]]}
    answer = cast.client(cast.manager).post(URL, body(cast.north, geometry=line), format="json")

    assert answer.status_code == 400
    assert "Point is needed" in answer.data["detail"]


def test_a_member_sees_scrapes_and_changes_none(cast):
    scrape = make_scrape(cast.north)
    client = cast.client(cast.member)

    assert names(client.get(URL)) == ["Bench oak"]
    assert client.post(URL, body(cast.north), format="json").status_code == 403
    assert client.post(f"{URL}{scrape.id}/retire/").status_code == 403
    event = {"happened_on": "2025-10-01", "what": "repaired"}
    assert client.post(f"{URL}{scrape.id}/events/", event, format="json").status_code == 403
    assert not ScrapeEvent.objects.exists()


@pytest.mark.parametrize("who", ["stranger", "other_member", "landowner"])
def test_whoever_may_not_know_a_scrape_finds_none(cast, who):
    scrape = make_scrape(cast.north)
    client = cast.client(getattr(cast, who))

    assert names(client.get(URL)) == []
    assert client.get(f"{URL}{scrape.id}/").status_code == 404
    assert client.get(f"{URL}{scrape.id}/events/").status_code == 404
    assert client.post(f"{URL}{scrape.id}/retire/").status_code == 404


def test_scrapes_are_found_by_name_kind_box_and_distance(cast):
    make_scrape(cast.north)
    make_scrape(cast.north, "Far oak", east=0.005)
    client = cast.client(cast.member)
    centre = f"{cast.north.longitude},{cast.north.latitude}"
    box = f"{cast.north.longitude + 0.001},43.2,-91.48,43.22"

    assert names(client.get(URL, {"search": "far"})) == ["Far oak"]
    assert names(client.get(URL, {"kind": "native"})) == []
    assert names(client.get(URL, {"bbox": box})) == ["Far oak"]
    assert names(client.get(URL, {"near": centre, "within_m": 50})) == ["Bench oak"]
    # 0.005 degrees of longitude at 43.21 N are about 406 m.
    assert len(names(client.get(URL, {"near": centre, "within_m": 420}))) == 2
    assert client.get(URL, {"near": centre}).status_code == 400


def test_a_retired_scrape_leaves_the_wind_and_keeps_its_history(cast):
    scrape = make_scrape(cast.north)
    client = cast.client(cast.manager)

    assert [source.name for source in point_sources(cast.north)] == ["Bench oak"]
    assert client.post(f"{URL}{scrape.id}/retire/").status_code == 200
    assert client.post(f"{URL}{scrape.id}/retire/").status_code == 200
    assert list(point_sources(cast.north)) == []
    assert names(client.get(URL, {"retired": "true"})) == ["Bench oak"]
    events = client.get(f"{URL}{scrape.id}/events/").data
    assert [event["what"] for event in events] == ["retired"]


def test_the_wind_model_knows_scrapes_as_places_that_deer_pass(cast):
    scrape = make_scrape(cast.north)
    make_scrape(cast.south, "Other oak")

    (receptor,) = surroundings_of(cast.north, features=[], settings=WindSettings()).receptors

    assert (receptor.feature_id, receptor.kind) == (str(scrape.id), "scrape")


def test_history_is_kept_and_nothing_in_the_future_is_history(cast):
    scrape = make_scrape(cast.north)
    client = cast.client(cast.manager)
    url = f"{URL}{scrape.id}/events/"
    first = client.post(url, {"happened_on": "2025-09-01", "what": "built"}, format="json")
    later = client.post(
        url,
        {"happened_on": "2025-10-01", "what": "branch turned", "notes": "to 140"},
        format="json",
    )
    never = client.post(url, {"happened_on": "2999-01-01", "what": "built"}, format="json")

    assert (first.status_code, later.status_code, never.status_code) == (201, 201, 400)
    assert never.data["errors"][0]["pointer"] == "#/happened_on"
    assert [row["what"] for row in client.get(url).data] == ["branch turned", "built"]


def test_listing_asks_the_database_as_often_for_many_as_for_one(
    cast, django_assert_max_num_queries
):
    for number in range(12):
        make_scrape(cast.north, f"Oak {number}")
    client = cast.client(cast.member)

    with django_assert_max_num_queries(8):
        assert len(names(client.get(URL))) == 12

"""Seasons over HTTP: a manager's entry, shown to all with where it comes from."""

from datetime import date

import pytest

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.sessions import queries
from properties.sessions.kinds import SessionKey, SessionKind
from properties.sessions.models import Season

BOW = {
    "name": "Bow",
    "first_on": "2025-09-13",
    "last_on": "2026-01-04",
    "weapons": ["bow", "crossbow"],
    "source_url": "https://state.example/regulations",
}


@pytest.fixture
def season(cast):
    return Season.objects.create(
        property=cast.north,
        name="Bow",
        first_on=date(2025, 9, 13),
        last_on=date(2026, 1, 4),
        weapons=["bow", "crossbow"],
    )


def names(client, query=""):
    answer = client.get(f"/api/v1/seasons/{query}")
    assert answer.status_code == 200, answer.data
    return [row["name"] for row in answer.data["results"]]


def test_a_manager_enters_a_season_with_its_source(cast):
    answer = cast.client(cast.manager).post("/api/v1/seasons/", {**BOW, "property": cast.north.id})

    assert answer.status_code == 201, answer.data
    assert answer.data["source_url"] == BOW["source_url"]
    assert Fact.objects.get(topic="season.changed").ids["property"] == str(cast.north.id)


def test_every_reader_is_told_that_it_is_a_setting_and_not_the_law(cast, season):
    url = f"/api/v1/seasons/{season.id}/"
    clients = [
        *(cast.client(person) for person in (cast.member, cast.landowner, cast.manager)),
        cast.application_client(),
    ]

    for client in clients:
        notice = client.get(url).data["notice"]
        assert notice.startswith("Allowed by this property's settings")
        assert "check your state's regulations" in notice


@pytest.mark.parametrize(
    ("writer", "status"),
    [
        ("coordinator", 201),
        ("manager", 201),
        ("member", 403),
        ("landowner", 403),
        ("other_member", 400),
        ("stranger", 400),
    ],
)
def test_managers_enter_seasons(cast, writer, status):
    answer = cast.client(getattr(cast, writer)).post(
        "/api/v1/seasons/", {**BOW, "property": cast.north.id}
    )

    assert answer.status_code == status
    assert Season.objects.exists() is (status == 201)


@pytest.mark.parametrize("reader", ["other_member", "stranger"])
def test_the_season_of_a_property_out_of_reach_is_not_found(cast, season, reader):
    client = cast.client(getattr(cast, reader))

    assert client.get(f"/api/v1/seasons/{season.id}/").status_code == 404
    assert client.delete(f"/api/v1/seasons/{season.id}/").status_code == 404
    assert names(client, f"?property={cast.north.id}") == []


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"last_on": "2025-09-12"}, "#/last_on"),
        ({"weapons": ["bow", "catapult"]}, "#/weapons/1"),
        ({"weapons": "bow"}, "#/weapons"),
        ({"source_url": "the state's page"}, "#/source_url"),
    ],
)
def test_a_season_that_cannot_be_is_refused_by_field(cast, changed, pointer):
    answer = cast.client(cast.manager).post(
        "/api/v1/seasons/", {**BOW, "property": cast.north.id, **changed}
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == pointer


def test_changing_one_end_is_judged_with_the_other(cast, season):
    client = cast.client(cast.manager)
    url = f"/api/v1/seasons/{season.id}/"

    refused = client.patch(url, {"first_on": "2026-02-01"}, HTTP_IF_MATCH='"1"')
    changed = client.patch(url, {"last_on": "2026-01-11"}, HTTP_IF_MATCH='"1"')

    assert (refused.status_code, changed.status_code) == (400, 200)
    season.refresh_from_db()
    assert season.last_on == date(2026, 1, 11)


def test_seasons_are_found_by_a_date_in_them_both_ends_included(cast, season):
    client = cast.client(cast.member)

    for day in ("2025-09-13", "2026-01-04"):
        assert names(client, f"?on={day}") == ["Bow"]
    for day in ("2025-09-12", "2026-01-05"):
        assert names(client, f"?on={day}") == []


def test_a_deleted_season_stays_in_the_record(cast, season):
    url = f"/api/v1/seasons/{season.id}/"

    assert cast.client(cast.member).delete(url).status_code == 403
    assert cast.client(cast.manager).delete(url).status_code == 204
    event = AuditEvent.objects.get(object_id=str(season.id))
    assert (event.reason, event.before["name"]) == ("deleted", "Bow")


def test_seasons_reach_the_rules_in_the_order_they_begin(cast, season):
    Season.objects.create(
        property=cast.north,
        name="Early",
        first_on=date(2025, 9, 1),
        last_on=date(2025, 9, 7),
        weapons=["rifle"],
    )

    first, second = queries.seasons_of(property_id=cast.north.id)

    assert (first.name, second.name) == ("Early", "Bow")
    assert second.weapons == {"bow", "crossbow"}


def test_the_windows_of_a_property_follow_its_settings_and_its_own_sun(cast):
    day = date(2025, 11, 15)
    usual = queries.windows_of(cast.north, first=day, last=day)
    cast.north.settings = {"sessions": {"shooting_light_before_sunrise_min": 0}}
    later = queries.windows_of(cast.north, first=day, last=day)
    morning = SessionKey(day, SessionKind.MORNING)

    assert list(usual) == [morning, SessionKey(day, SessionKind.EVENING)]
    gap = later[morning].hunt_from - usual[morning].hunt_from
    assert gap.total_seconds() == 30 * 60

"""Dated values over HTTP: entered with their page, confirmed each year, told to everybody."""

from datetime import UTC, date, datetime

import pytest
import time_machine

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.regulations.kinds import RegulationKind
from properties.sessions.models import Season
from tests.cast import NOW
from tests.properties.regulations.entries import PAGE, entered

URL = "/api/v1/regulations/"
VALUES = {
    "weekly_closed_days": {"weekdays": [7]},
    "orange": {"when": "firearm_season", "what": "Hat and vest."},
    "scents": {"names": ["synthetic gland"]},
    "feed": {"permitted": False},
    "minerals": {"permitted": True},
    "cameras": {"cameras": "not_transmitting"},
    "picture_delay": {"hours": 24.0},
    "disease_area": {
        "area": "Invented Creek",
        "sampling_first_on": "2025-11-08",
        "sampling_last_on": "2025-11-09",
        "carcass_transport": "Spines stay in the county.",
    },
    "shooting_light": {"before_sunrise_min": 20.0, "after_sunset_min": 10.0},
}


def body(cast, kind, value=None, **changes):
    return {
        "property": str(cast.north.id),
        "kind": kind,
        "value": VALUES[kind] if value is None else value,
        "first_on": "2025-09-01",
        "source_url": PAGE,
        **changes,
    }


def test_there_is_a_case_of_every_kind():
    assert set(VALUES) == set(RegulationKind)


@pytest.mark.parametrize("kind", VALUES)
def test_a_value_of_each_kind_is_entered_with_who_and_where_and_said_in_words(cast, kind):
    answer = cast.client(cast.manager).post(URL, body(cast, kind), format="json")

    assert answer.status_code == 201, answer.data
    assert answer.data["value"] == VALUES[kind]
    assert answer.data["entered_by"] == "Max Manager"
    assert answer.data["source_url"] == PAGE
    assert answer.data["sentence"].startswith("By this property's settings ")
    assert "Not legal advice" in answer.data["notice"]
    assert answer.data["is_unconfirmed"] is False
    assert AuditEvent.objects.get(object_kind="properties.regulation").after["kind"] == kind


def test_the_page_it_was_read_on_is_needed(cast):
    asked = body(cast, "feed")
    client = cast.client(cast.manager)

    for changed in ({"source_url": ""}, {"source_url": "the state's page"}):
        answer = client.post(URL, {**asked, **changed}, format="json")
        assert answer.status_code == 400
        assert answer.data["errors"][0]["pointer"] == "#/source_url"
    del asked["source_url"]
    assert client.post(URL, asked, format="json").status_code == 400


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        ("weekly_closed_days", {}),
        ("weekly_closed_days", {"weekdays": [0]}),
        ("weekly_closed_days", {"weekdays": []}),
        ("weekly_closed_days", {"weekdays": [7, 7]}),
        ("orange", {"when": "sometimes"}),
        ("feed", {"permitted": True, "hours": 3}),
        ("feed", {"names": ["corn"]}),
        ("cameras", {"permitted": True}),
        ("picture_delay", {"hours": -1}),
        ("disease_area", {"area": "Invented Creek", "sampling_first_on": "2025-11-08"}),
        ("disease_area", {**VALUES["disease_area"], "sampling_last_on": "2025-11-07"}),
        ("shooting_light", {"before_sunrise_min": 30}),
        ("scents", {"names": ["ok"], "colour": "red"}),
    ],
)
def test_a_value_that_does_not_suit_its_kind_is_refused(cast, kind, value):
    answer = cast.client(cast.manager).post(URL, body(cast, kind, value), format="json")

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"].startswith("#/value")


def test_two_values_of_a_kind_never_hold_on_one_day(cast):
    entered(cast, "feed", {"permitted": False}, last_on=date(2025, 12, 31))
    client = cast.client(cast.manager)

    over = client.post(URL, body(cast, "feed", first_on="2025-12-31"), format="json")
    after = client.post(URL, body(cast, "feed", first_on="2026-01-01"), format="json")
    other = client.post(URL, body(cast, "minerals", first_on="2025-12-31"), format="json")

    assert (over.status_code, over.data["code"]) == (409, "regulations_overlap")
    assert (after.status_code, other.status_code) == (201, 201)


def test_a_withdrawn_value_makes_room(cast):
    row = entered(cast, "feed", {"permitted": False})
    client = cast.client(cast.manager)

    assert client.post(f"{URL}{row.id}/withdraw/", {}, format="json").status_code == 200
    assert client.post(URL, body(cast, "feed"), format="json").status_code == 201
    assert len(client.get(f"{URL}?on=2025-11-08").data["results"]) == 1


def test_a_value_is_unconfirmed_after_a_year_and_confirmed_again(cast):
    row = entered(cast, "feed", {"permitted": False})
    url = f"{URL}{row.id}/"
    client = cast.client(cast.manager)

    # Entered on the first of November 2025 there.
    with time_machine.travel(datetime(2026, 11, 1, 18, tzinfo=UTC), tick=False):
        assert client.get(url).data["is_unconfirmed"] is False
    with time_machine.travel(datetime(2026, 11, 2, 18, tzinfo=UTC), tick=False):
        assert client.get(url).data["is_unconfirmed"] is True
        confirmed = client.post(f"{url}confirm/")
        assert confirmed.data["is_unconfirmed"] is False
        assert confirmed.data["confirmed_by"] == "Max Manager"
        assert confirmed.data["entered_by"] == "Max Manager"
    with time_machine.travel(datetime(2027, 11, 3, 18, tzinfo=UTC), tick=False):
        assert cast.client(cast.manager).get(url).data["is_unconfirmed"] is True


def test_a_change_counts_as_entered_anew(cast):
    row = entered(cast, "feed", {"permitted": False})
    client = cast.client(cast.coordinator)

    with time_machine.travel(datetime(2027, 1, 5, 18, tzinfo=UTC), tick=False):
        answer = client.patch(
            f"{URL}{row.id}/", {"value": {"permitted": True}}, format="json", HTTP_IF_MATCH='"1"'
        )

    assert answer.status_code == 200, answer.data
    assert answer.data["entered_by"] == "Cora Coordinator"
    assert answer.data["is_unconfirmed"] is False


@pytest.mark.parametrize(
    ("writer", "status"),
    [("coordinator", 201), ("manager", 201), ("member", 403), ("landowner", 403)],
)
def test_managers_enter_values(cast, writer, status):
    client = cast.client(getattr(cast, writer))

    assert client.post(URL, body(cast, "feed"), format="json").status_code == status


def season(cast, name, weapons, first_on=date(2025, 11, 1), last_on=date(2025, 11, 30), **more):
    return Season.objects.create(
        property=cast.north,
        name=name,
        first_on=first_on,
        last_on=last_on,
        weapons=weapons,
        source_url=PAGE,
        **more,
    )


def in_force(cast, on, person=None):
    client = cast.client(person or cast.member)
    answer = client.get(f"{URL}in-force/?property={cast.north.id}&on={on}")
    assert answer.status_code == 200, answer.data
    return answer.data


def test_a_member_reads_everything_that_holds_on_a_day_at_once(cast):
    for kind, value in VALUES.items():
        entered(cast, kind, value)
    season(cast, "Bow", ["bow"], classes=["antlered"])
    season(cast, "Later", ["rifle"], first_on=date(2025, 12, 1), last_on=date(2025, 12, 9))

    found = in_force(cast, "2025-11-09")

    assert {row["kind"] for row in found["values"]} == set(VALUES)
    assert [row["name"] for row in found["seasons"]] == ["Bow"]
    assert found["classes"] == ["antlered"]
    assert found["is_closed_weekday"] is True
    assert in_force(cast, "2025-11-08")["is_closed_weekday"] is False
    assert "Not legal advice" in found["notice"]
    assert in_force(cast, "2025-08-31")["values"] == []


def test_what_nobody_confirmed_within_a_year_is_named(cast):
    entered(cast, "feed", {"permitted": False})
    old = season(cast, "Bow", ["bow"])
    Season.objects.filter(id=old.id).update(created_at=datetime(2024, 9, 1, tzinfo=UTC))

    with time_machine.travel(NOW, tick=False):
        assert in_force(cast, "2025-11-09")["unconfirmed"] == ["season: Bow"]
        answer = cast.client(cast.manager).post(f"/api/v1/seasons/{old.id}/confirm/")
        assert answer.data["is_unconfirmed"] is False
        assert in_force(cast, "2025-11-09")["unconfirmed"] == []


def test_a_season_without_a_page_stays_unconfirmed(cast):
    row = season(cast, "Bow", ["bow"])
    Season.objects.filter(id=row.id).update(source_url="")

    assert in_force(cast, "2025-11-09")["unconfirmed"] == ["season: Bow"]


@pytest.mark.parametrize("weapon", ["muzzleloader", "shotgun", "rifle"])
def test_orange_is_asked_for_while_any_firearm_season_is_open(cast, weapon):
    season(cast, "Bow", ["bow"])
    season(cast, "Gun", [weapon], first_on=date(2025, 11, 8), last_on=date(2025, 11, 9))

    for day, required in (("07", False), ("08", True), ("09", True), ("10", False)):
        assert in_force(cast, f"2025-11-{day}")["orange"]["is_required"] is required
    assert "Gun" in in_force(cast, "2025-11-08")["orange"]["sentence"]


def test_orange_follows_what_is_entered(cast):
    season(cast, "Gun", ["rifle"], youth_only=True)
    assert in_force(cast, "2025-11-08")["orange"]["is_required"] is True

    row = entered(cast, "orange", {"when": "not_required"}, last_on=date(2025, 11, 8))
    entered(cast, "orange", {"when": "always", "what": "Vest."}, first_on=date(2025, 11, 9))

    assert row.last_on == date(2025, 11, 8)
    assert in_force(cast, "2025-11-08")["orange"]["is_required"] is False
    assert in_force(cast, "2025-12-20")["orange"]["is_required"] is True
    assert in_force(cast, "2025-12-20")["orange"]["sentence"].endswith("Vest.")


def test_hunting_light_by_date_goes_before_the_settings(cast):
    entered(
        cast,
        "shooting_light",
        {"before_sunrise_min": 0, "after_sunset_min": 0},
        first_on=date(2025, 11, 8),
        last_on=date(2025, 11, 8),
    )
    client = cast.client(cast.member)
    days = client.get(
        f"/api/v1/properties/{cast.north.id}/sessions/?first_on=2025-11-07&last_on=2025-11-09"
    ).data["days"]

    same = {day["local_date"]: day["sunset"] == day["shooting_light_until"] for day in days}
    ends = {day["local_date"]: day["sessions"][1]["hunt_until"] for day in days}
    assert list(same.values()) == [False, True, False]
    for day in days:
        assert ends[day["local_date"]] == day["shooting_light_until"]


def test_entering_hunting_light_has_the_fits_computed_anew(cast):
    entered(cast, "feed", {"permitted": False})
    before = Fact.objects.filter(topic="property.changed").count()
    entered(cast, "shooting_light", VALUES["shooting_light"])

    assert Fact.objects.filter(topic="property.changed").count() == before + 1

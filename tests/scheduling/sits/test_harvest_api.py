"""Harvest over HTTP: data and their doubts, who reads what, tags, the table, the figures."""

import csv
import io
from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine

from coop.access.actors import ANONYMOUS, ActorKind
from scheduling.sits.harvest_models import Tag
from scheduling.sits.harvest_queries import bucks_taken, planned_by_class
from scheduling.sits.harvest_serializers import HarvestSerializer
from scheduling.sits.models import Harvest, HarvestPlan
from scheduling.sits.report_services import report_sit
from tests.cast import NOW
from tests.scheduling.sits.stage import booked, sat

pytestmark = pytest.mark.usefixtures("at_now")


@pytest.fixture
def api(stage):
    cast = stage.cast
    return {
        name: cast.client(getattr(cast, name))
        for name in ("member", "manager", "landowner", "coordinator")
    } | {"ben": cast.client(stage.ben)}


def told(stage, **more):
    return {
        "property": str(stage.cast.north.id),
        "harvest_class": "antlered",
        "sex": "buck",
        "taken_at": NOW.isoformat(),
        "place": {"type": "Point", "coordinates": [stage.cast.north.longitude, 43.2]},
        "weapon": "bow",
        "age_years": 3.5,
        "age_method": "tooth_wear",
        "dressed_weight_kg": 64,
        "beam_length_mm": 480,
        "antler_points": 8,
        "sample_number": "S-77",
        "sample_result": "pending",
        "check_number": "C-5",
        "individual": "Split brow",
        "notes": "Second week",
        **more,
    }


def make_tag(api, **more):
    body = {"number": "T-9", "valid_from": "2025-10-01", "valid_until": "2026-01-31", **more}
    answer = api["member"].post("/api/v1/tags/", body, format="json")
    assert answer.status_code == 201, answer.content
    return answer.json()


def test_a_deer_is_kept_with_all_that_was_told_and_read_back(stage, api):
    answer = api["member"].post("/api/v1/harvests/", told(stage), format="json")

    assert answer.status_code == 201, answer.content
    shown = answer.json()
    for name, value in told(stage).items():
        if name != "taken_at":
            assert shown[name] == value, name
    assert shown["warnings"] == []


def test_who_took_it_and_managers_read_place_tag_sample_and_deer_and_nobody_else_does(stage, api):
    tag = make_tag(api)
    deer = api["member"].post("/api/v1/harvests/", told(stage, tag=tag["id"]), format="json")
    path = f"/api/v1/harvests/{deer.json()['id']}/"

    for who in ("member", "manager", "coordinator"):
        shown = api[who].get(path).json()
        assert shown["place"]["type"] == "Point"
        assert (shown["tag"], shown["individual"]) == (tag["id"], "Split brow")
        assert (shown["sample_number"], shown["check_number"]) == ("S-77", "C-5")
    for who in ("landowner", "ben"):
        shown = api[who].get(path).json()
        hidden = [
            shown[name] for name in ("place", "tag", "sample_result", "individual", "sample_number")
        ]
        assert hidden == [None, None, None, None, ""]
        assert shown["check_number"] == ""
        assert (shown["dressed_weight_kg"], shown["age_years"]) == (64, 3.5)


def test_what_cannot_be_is_refused_by_field_and_what_is_unusual_is_kept_with_a_question(stage, api):
    wrong = api["member"].post(
        "/api/v1/harvests/", told(stage, dressed_weight_kg=200, lactating=True), format="json"
    )
    assert wrong.status_code == 400
    assert {error["pointer"] for error in wrong.json()["errors"]} >= {
        "#/dressed_weight_kg",
        "#/lactating",
    }
    odd = api["member"].post("/api/v1/harvests/", told(stage, dressed_weight_kg=130), format="json")
    assert odd.status_code == 201
    (warning,) = odd.json()["warnings"]
    assert (warning["field"], warning["code"]) == ("dressed_weight_kg", "unusual")


def test_a_deer_told_with_the_report_of_a_sit_is_kept_whole(stage, api):
    sit = sat(stage, booked(stage))
    report = report_sit(
        actor=stage.cast.actor(stage.cast.member),
        sit=sit,
        fields={"shots": 1},
        harvests=[{"harvest_class": "antlerless", "sex": "doe", "lactating": True}],
        now=sit.ends_at,
    )
    deer = Harvest.objects.get(sit=report.sit)

    assert (deer.sex, deer.lactating, deer.taken_at) == ("doe", True, sit.checked_out_at)


@pytest.mark.parametrize("off", [timedelta(days=-6), timedelta(seconds=-1), timedelta(hours=9)])
def test_a_deer_hit_before_the_check_in_or_after_the_check_out_is_not_of_that_sit(stage, api, off):
    sit = sat(stage, booked(stage))
    reached = sit.checked_out_at if off > timedelta(0) else sit.checked_in_at
    deer = told(stage, sit=str(sit.id), taken_at=(reached + off).isoformat())
    reported = {"shots": 1, "harvests": [{"harvest_class": "antlerless"} | _at(reached + off)]}

    with time_machine.travel(sit.ends_at + timedelta(days=1), tick=False):
        alone = api["member"].post("/api/v1/harvests/", deer, format="json")
        with_report = api["member"].post(f"/api/v1/sits/{sit.id}/report/", reported, format="json")

    assert (alone.status_code, with_report.status_code) == (400, 400)
    (error,) = alone.json()["errors"]
    assert error["pointer"] == "#/taken_at"
    assert "check-in" in error["detail"] or "check-out" in error["detail"]
    assert "taken_at" in with_report.json()["errors"][0]["pointer"]
    assert not Harvest.objects.exists()


def test_a_deer_hit_while_the_hunter_was_there_may_be_told_the_next_day(stage, api):
    sit = sat(stage, booked(stage))
    with time_machine.travel(sit.ends_at + timedelta(days=1), tick=False):
        for at in (sit.checked_in_at, sit.checked_out_at):
            deer = told(stage, sit=str(sit.id), taken_at=at.isoformat())
            answer = api["member"].post("/api/v1/harvests/", deer, format="json")
            assert answer.status_code == 201, answer.content


def test_a_sit_that_nobody_checked_in_has_deer_of_its_own_hours_alone(stage, api):
    sit = booked(stage)
    apart = timedelta(minutes=1)
    wanted = {
        sit.starts_at - apart: 400,
        sit.starts_at + apart: 201,
        sit.ends_at - apart: 201,
        sit.ends_at + apart: 400,
    }
    with time_machine.travel(sit.ends_at + timedelta(days=1), tick=False):
        answers = {
            at: api["member"].post(
                "/api/v1/harvests/",
                told(stage, sit=str(sit.id), taken_at=at.isoformat()),
                format="json",
            )
            for at in wanted
        }

    assert {at: answer.status_code for at, answer in answers.items()} == wanted


def test_a_correction_does_not_move_a_deer_out_of_its_sit(stage, api):
    sit = sat(stage, booked(stage))
    deer = told(stage, sit=str(sit.id), **_at(sit.checked_out_at))
    with time_machine.travel(sit.ends_at + timedelta(days=1), tick=False):
        made = api["member"].post("/api/v1/harvests/", deer, format="json")
        path = f"/api/v1/harvests/{made.json()['id']}/"
        answers = [
            api["member"].patch(path, change, format="json", HTTP_IF_MATCH="*")
            for change in (_at(sit.checked_in_at - timedelta(days=2)), _at(sit.checked_in_at))
        ]

    assert [answer.status_code for answer in answers] == [400, 200]


def _at(instant):
    return {"taken_at": instant.isoformat()}


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"harvest_class": "antlerless"}, "Covers antlerless"),
        ({"valid_until": "2025-10-20"}, "Is valid from"),
        ({"sex": "doe"}, "Covers doe"),
    ],
)
def test_a_tag_that_does_not_cover_the_deer_is_refused_and_the_deer_stands_without_it(
    stage, api, changed, sentence
):
    tag = make_tag(api, **changed)
    wrong = api["member"].post("/api/v1/harvests/", told(stage, tag=tag["id"]), format="json")
    assert wrong.status_code == 400
    (error,) = wrong.json()["errors"]
    assert error["pointer"] == "#/tag"
    assert sentence in error["detail"]
    assert api["member"].post("/api/v1/harvests/", told(stage), format="json").status_code == 201


def test_a_tag_is_used_once_by_its_holder_and_keeps_what_it_covered(stage, api):
    tag = make_tag(api)
    path = f"/api/v1/tags/{tag['id']}/"
    deer = api["member"].post("/api/v1/harvests/", told(stage, tag=tag["id"]), format="json")
    assert api["member"].get(path).json()["used_on"] == deer.json()["id"]
    again = api["member"].post("/api/v1/harvests/", told(stage, tag=tag["id"]), format="json")
    assert "another deer" in again.json()["errors"][0]["detail"]
    # Somebody else's tag does not exist for them.
    assert (
        api["ben"].post("/api/v1/harvests/", told(stage, tag=tag["id"]), format="json").status_code
        == 400
    )
    change = api["member"].patch(
        path, {"harvest_class": "antlerless"}, format="json", HTTP_IF_MATCH="*"
    )
    assert change.status_code == 400
    assert api["member"].post(f"{path}retire/").status_code == 400


def test_tags_are_read_by_their_holder_and_managers_and_by_nobody_else(stage, api):
    tag = make_tag(api)
    path = f"/api/v1/tags/{tag['id']}/"
    answers = {who: client.get(path).status_code for who, client in api.items()}

    assert answers == {
        "member": 200,
        "manager": 200,
        "coordinator": 200,
        "landowner": 404,
        "ben": 404,
    }
    assert [row["id"] for row in api["manager"].get("/api/v1/tags/").json()["results"]] == [
        tag["id"]
    ]
    assert api["ben"].get("/api/v1/tags/?used=false").json()["results"] == []
    assert api["member"].post(f"{path}retire/").status_code == 200
    assert Tag.objects.get(id=tag["id"]).retired_at is not None


def test_the_table_holds_a_row_for_each_deer_and_no_cell_acts_as_a_formula(stage, api):
    api["member"].post("/api/v1/harvests/", told(stage, notes="=1+1"), format="json")
    path = f"/api/v1/harvests/export/?property={stage.cast.north.id}&season_year=2025"
    answer = api["manager"].get(path)

    assert answer["Content-Type"].startswith("text/csv")
    (row,) = csv.DictReader(io.StringIO(answer.content.decode()))
    assert (row["hunter"], row["sample_number"], row["age_years"]) == (
        stage.cast.member.name,
        "S-77",
        "3.5",
    )
    assert row["notes"] == "'=1+1"
    assert row["taken_at"] == "2025-11-01T12:00:00-05:00"
    assert api["member"].get(path).status_code == 403
    assert api["landowner"].get(path).status_code == 403


def test_figures_of_a_year_stand_against_the_plan_and_few_weights_are_too_few(stage, api):
    land = stage.cast.north
    HarvestPlan.objects.create(
        property=land, season_year=2025, harvest_class="antlerless", sex="doe", planned=3
    )
    for sex, weight in (("doe", 40.0), ("doe", 44.0), ("unknown", None)):
        Harvest.objects.create(
            property=land,
            person=stage.ben,
            harvest_class="antlerless",
            sex=sex,
            age_years=2.5,
            dressed_weight_kg=weight,
            taken_at=NOW,
        )
    sit = sat(stage, booked(stage))
    report_sit(
        actor=stage.cast.actor(stage.cast.member),
        sit=sit,
        fields={},
        sightings=[{"sex": "doe", "count": 6}, {"sex": "buck", "count": 2}, {"count": 1}],
        now=sit.ends_at,
    )

    answer = api["landowner"].get(f"/api/v1/harvest-figures/?property={land.id}&years=2")
    assert answer.status_code == 200, answer.content
    this, last = answer.json()["years"]
    assert (this["season_year"], last["season_year"], last["deer"]) == (2025, 2024, 0)
    (line,) = this["plans"]
    assert (line["planned"], line["taken"], line["of_unknown_sex"], line["left"]) == (3, 2, 1, 0)
    assert this["per_hunter_day"]["hunter_days"] == 1
    assert this["per_hunter_day"]["rate"] == 3.0
    assert this["seen"]["does_per_buck"] == 3.0
    assert this["seen"]["unknown"] == 1
    (weight,) = this["weights"]
    assert (weight["n"], weight["mean_kg"], weight["too_few_to_tell"]) == (2, None, True)
    assert last["per_hunter_day"]["rate"] is None


def test_the_month_counts_a_plan_by_sex_as_its_class(stage):
    land = stage.cast.north
    plans = [
        HarvestPlan(property=land, season_year=2025, harvest_class=kind, sex=sex, planned=number)
        for kind, sex, number in (
            ("antlerless", "doe", 4),
            ("antlerless", "buck", 1),
            ("antlered", "", 3),
            ("antlered", "buck", 2),
        )
    ]
    assert planned_by_class(plans) == {"antlered": 3, "antlerless": 5}


def test_care_hears_which_buck_was_taken_and_where(stage, api):
    api["member"].post("/api/v1/harvests/", told(stage), format="json")
    land = stage.cast.north
    (buck,) = bucks_taken(land, NOW - timedelta(days=1), NOW + timedelta(days=1))

    assert buck.individual == "Split brow"
    assert buck.place == (pytest.approx(land.longitude), 43.2)


def test_a_hunter_gives_their_place_up_over_http_and_the_list_tells_it(stage, api):
    api["manager"].post(
        "/api/v1/harvest-plans/",
        {
            "property": str(stage.cast.north.id),
            "season_year": 2025,
            "harvest_class": "antlerless",
            "planned": 1,
        },
        format="json",
    )
    sit = booked(stage)
    (place,) = api["member"].get(f"/api/v1/harvest-places/?sit={sit.id}").json()["results"]
    assert (place["held"], place["harvest_class"]) == (True, "antlerless")
    assert api["ben"].get(f"/api/v1/harvest-places/{place['id']}/").status_code == 404
    given = api["member"].post(f"/api/v1/harvest-places/{place['id']}/give-up/")
    assert (given.json()["wanted"], given.json()["held"]) == (False, False)
    again = api["member"].post(f"/api/v1/harvest-places/{place['id']}/ask-again/")
    assert again.json()["held"] is True


@pytest.mark.parametrize("nobody", [ANONYMOUS, replace(ANONYMOUS, kind=ActorKind.APPLICATION)])
def test_who_is_no_person_is_not_the_host_of_whoever_has_none(stage, nobody):
    deer = Harvest.objects.create(
        property=stage.cast.north,
        person=stage.ben,
        harvest_class="antlered",
        taken_at=NOW,
        notes="By the spring",
    )

    shown = HarvestSerializer(deer, context={"actor": nobody}).data

    assert (shown["person"], shown["notes"], shown["person_name"]) == (None, "", "Ben")

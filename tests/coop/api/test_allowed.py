"""Faults say what may be sent, all at once, and each at the place that it is about."""

import pytest
import time_machine
from rest_framework import serializers

from coop.api.allowed import MOST_TOLD, tell_what_is_allowed
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, make_stage

SITS = "/api/v1/sits/"


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def body(stage, **more):
    return {"stand": str(stage.oak.id), "local_date": DAY.isoformat(), "span": "evening", **more}


def faults_of(answer):
    assert answer.status_code == 400, answer.content
    return {error["pointer"]: error["detail"] for error in answer.json()["errors"]}


def test_a_misspelt_member_hides_no_other_fault(stage):
    answer = stage.cast.client(stage.cast.member).post(SITS, body(stage, span="noon", wepon="bow"))

    assert faults_of(answer) == {
        "#/wepon": "Unknown member; weapon?",
        "#/span": '"noon" is not one of: morning, evening, all_day.',
    }
    assert not Sit.objects.exists()


def test_a_time_without_its_offset_is_told_once_beside_other_faults(stage):
    sit = booked(stage)
    answer = stage.cast.client(stage.cast.member).post(
        f"{SITS}{sit.id}/check-in/", {"at": "2025-11-08T16:00:00", "att": 1}
    )

    assert sorted(faults_of(answer)) == ["#/at", "#/att"]


def test_a_reference_that_is_none_is_told_by_its_number(stage):
    client = stage.cast.client(stage.cast.member)
    answer = client.post(SITS, body(stage, guests=[str(stage.cast.member.id), "x"]))

    assert list(faults_of(answer)) == ["#/guests/1"]


@pytest.mark.parametrize("guests", ["x", {"a": 1}, 5])
def test_what_is_no_list_is_told_so(stage, guests):
    answer = stage.cast.client(stage.cast.member).post(SITS, body(stage, guests=guests))

    assert faults_of(answer) == {"#/guests": "Must be a list."}


def test_what_is_no_object_is_told_so_in_the_words_of_the_api(stage):
    sit = booked(stage)
    answer = stage.cast.client(stage.cast.member).post(
        f"{SITS}{sit.id}/report/", {"wind_felt_quarters": ["Q"]}
    )

    assert faults_of(answer) == {"#/wind_felt_quarters/0": "Must be an object with members."}


@pytest.mark.parametrize(
    ("path", "asked", "pointer"),
    [
        ("sits", {"state": "plot"}, "?state"),
        ("features", {"kind": "plot"}, "?kind"),
        ("errands", {"kind": "plot"}, "?kind"),
        ("offers", {"kind": "plot", "date": DAY.isoformat()}, "?kind"),
    ],
)
def test_a_filter_says_which_values_it_takes(stage, path, asked, pointer):
    answer = stage.cast.client(stage.cast.member).get(f"/api/v1/{path}/", asked)

    told = faults_of(answer)[pointer]
    assert told.startswith('"plot" is not one of: ')
    assert told.count(", ") >= 1


def test_a_body_says_which_values_a_member_takes(stage):
    answer = stage.cast.client(stage.cast.manager).post(
        "/api/v1/features/",
        {"property": str(stage.cast.north.id), "kind": "plot", "name": "x", "geometry": {}},
    )

    kinds = "bedding, food_plot, water, corridor, sanctuary, access_route, hazard"
    assert faults_of(answer)["#/kind"] == f'"plot" is not one of: {kinds}.'


def test_a_choice_among_too_many_is_not_told_and_one_with_braces_is():
    class Body(serializers.Serializer):
        many = serializers.ChoiceField(choices=[str(number) for number in range(MOST_TOLD + 1)])
        odd = serializers.ChoiceField(choices=["{a}", "b%"])

    asked = Body(data={"many": "x", "odd": "x"})
    tell_what_is_allowed(asked)

    assert not asked.is_valid()
    assert "one of" not in str(asked.errors["many"])
    assert asked.errors["odd"] == ['"x" is not one of: {a}, b%.']

"""Whatever must be one of its kind is refused in a sentence that names its fields, everywhere."""

import pytest
from rest_framework import serializers

from coop.api.uniqueness import leave_uniqueness_to_the_service
from properties.land.models import Feature
from tests.cast import make_stand, square

pytestmark = pytest.mark.django_db

SENTENCE = "Another one with the same {} exists already."


def twice(client, url, body):
    first = client.post(url, body, format="json")
    assert first.status_code == 201, first.content
    return client.post(url, body, format="json")


def items(answer):
    assert answer.status_code == 400
    assert answer.json()["code"] == "invalid_input"
    return [(one["pointer"], one["detail"], one["code"]) for one in answer.json()["errors"]]


def test_a_second_due_of_one_year_names_person_and_year(cast):
    body = {
        "person": str(cast.member.id),
        "season_year": 2025,
        "amount": "50.00",
        "currency": "USD",
        "due_on": "2025-09-01",
    }
    answer = twice(cast.client(cast.coordinator), "/api/v1/dues/", body)

    sentence = SENTENCE.format("person and season year")
    assert items(answer) == [
        ("#/person", sentence, "unique"),
        ("#/season_year", sentence, "unique"),
    ]
    assert answer.json()["detail"] == f"#/person, #/season_year: {sentence}"


def bedding(cast):
    return {
        "property": str(cast.north.id),
        "kind": "bedding",
        "name": "Thicket",
        "geometry": square(cast.north.longitude - 0.001, cast.north.latitude - 0.001, 0.002),
    }


def test_what_must_differ_only_among_those_not_retired_names_its_fields_too(cast):
    client, body = cast.client(cast.manager), bedding(cast)
    answer = twice(client, "/api/v1/features/", body)

    sentence = SENTENCE.format("property and name")
    assert items(answer) == [("#/property", sentence, "unique"), ("#/name", sentence, "unique")]

    feature = Feature.objects.get()
    assert client.post(f"/api/v1/features/{feature.id}/retire/").status_code == 200
    assert client.post("/api/v1/features/", body, format="json").status_code == 201


def test_a_change_into_what_another_holds_says_the_same(cast):
    make_stand(cast.north, "Oak")
    creek = make_stand(cast.north, "Creek")
    client = cast.client(cast.manager)
    url = f"/api/v1/stands/{creek.id}/"
    tag = client.get(url).headers["ETag"]

    answer = client.patch(url, {"name": "Oak"}, format="json", headers={"If-Match": tag})

    assert {one[:2] for one in items(answer)} == {
        ("#/property", SENTENCE.format("property and name")),
        ("#/name", SENTENCE.format("property and name")),
    }


def test_a_cooperative_keeps_its_name_and_takes_no_other_ones(cast):
    client = cast.client(cast.coordinator)
    url = f"/api/v1/cooperatives/{cast.cooperative.id}/"

    def rename(name):
        tag = client.get(url).headers["ETag"]
        return client.patch(url, {"name": name}, format="json", headers={"If-Match": tag})

    assert rename(cast.cooperative.name).status_code == 200
    answer = rename(cast.foreign.cooperative.name)
    assert items(answer) == [("#/name", SENTENCE.format("name"), "unique")]


def test_who_may_not_write_is_not_told_what_is_taken(cast):
    url, body = "/api/v1/features/", bedding(cast)
    assert cast.client(cast.manager).post(url, body, format="json").status_code == 201

    answer = cast.client(cast.member).post(url, body, format="json")

    assert answer.status_code == 403


def test_what_contradicts_itself_names_its_fields_and_the_rule(cast):
    body = {
        "person": str(cast.member.id),
        "youth_until": "2029-06-30",
        "supervisor": str(cast.member.id),
    }
    answer = cast.client(cast.manager).post("/api/v1/youths/", body, format="json")

    rule = "Must hold: youth supervised by somebody else."
    assert {(pointer, detail) for pointer, detail, _code in items(answer)} == {
        ("#/person", rule),
        ("#/supervisor", rule),
        ("#/other_supervisor", rule),
    }


def _all_below(base):
    for each in base.__subclasses__():
        yield each
        yield from _all_below(each)


def test_no_serializer_of_the_house_says_it_in_the_frameworks_words():
    """Each that the framework gave such a question loses it, and none loses another validator."""
    asked = 0
    for kind in set(_all_below(serializers.ModelSerializer)):
        if not kind.__module__.startswith(("coop", "properties", "scrapes", "scheduling")):
            continue
        one = kind(context={})
        before = len(one.validators)
        leave_uniqueness_to_the_service(one)
        asked += before - len(one.validators)
        assert "unique set" not in repr(one)
    assert asked > 5

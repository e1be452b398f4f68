"""Instants of a place, told by the clock of its property: through both changes of the clock."""

import json
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from rest_framework import serializers

from coop.api.fields import TIME_ZONE, LocalInstantField, with_zones
from coop.api.members import refuse_misread_members
from coop.api.problems import InvalidInput
from coop.api.rendering import json_bytes
from scheduling.errands.models import Errand

CHICAGO = "America/Chicago"
# Central Time goes back at 07:00Z on the first Sunday of November and on at 08:00Z on the second
# of March (15 U.S.C. 260a, from memory).
TOLD = {
    "2025-07-01T12:00:00+00:00": "2025-07-01T07:00:00-05:00",
    "2025-11-02T06:30:00+00:00": "2025-11-02T01:30:00-05:00",
    "2025-11-02T07:30:00+00:00": "2025-11-02T01:30:00-06:00",
    "2026-03-08T07:59:59+00:00": "2026-03-08T01:59:59-06:00",
    "2026-03-08T08:00:00+00:00": "2026-03-08T03:00:00-05:00",
}
ANY = datetime(2025, 11, 8, 16, 30, 5, 250_000, tzinfo=UTC)


class OfACamera(serializers.Serializer[Any]):
    at = LocalInstantField(place="camera__property", required=False, allow_null=True)


class Carrying(serializers.Serializer[Any]):
    at = LocalInstantField(whole_seconds=True)


def told(data):
    """As an answer is written."""
    return json.loads(json_bytes(data))


def row(at, time_zone=CHICAGO):
    land = SimpleNamespace(time_zone=time_zone)
    return SimpleNamespace(at=at, camera=SimpleNamespace(property=land))


@pytest.mark.parametrize(("utc", "there"), TOLD.items())
def test_an_instant_is_told_with_the_offset_of_its_property_then(utc, there):
    at = datetime.fromisoformat(utc)

    assert told(OfACamera(row(at)).data) == {"at": there}
    assert told(OfACamera().fields["at"].from_columns(at, CHICAGO)) == there


def test_the_hour_that_comes_twice_is_read_back_as_the_one_that_was_told():
    first = datetime(2025, 11, 2, 6, 30, tzinfo=UTC)
    read = []
    for at in (first, first + timedelta(hours=1)):
        body = OfACamera(data=told(OfACamera(row(at)).data))
        body.is_valid(raise_exception=True)
        read.append(body.validated_data["at"])

    assert read == [first, first + timedelta(hours=1)]


def test_what_was_told_may_be_sent_back_and_is_the_same_to_the_microsecond():
    body = OfACamera(data=told(OfACamera(row(ANY)).data))
    body.is_valid(raise_exception=True)

    assert body.validated_data["at"] == ANY


def test_an_instant_without_its_offset_is_refused():
    with pytest.raises(InvalidInput):
        refuse_misread_members(OfACamera(data={"at": "2025-11-08T16:30:05"}))


def test_nothing_is_told_of_an_instant_that_is_not_known():
    assert OfACamera(row(None)).data == {"at": None}
    assert OfACamera().fields["at"].from_columns(None, CHICAGO) is None


def test_an_answer_about_one_property_names_its_zone_once_for_all_rows():
    denver = {TIME_ZONE: "America/Denver"}

    there = {"at": "2025-11-08T09:30:05.250000-07:00"}
    assert told(OfACamera(row(ANY), context=denver).data) == there
    assert told(Carrying({"at": ANY}, context=denver).data) == {"at": "2025-11-08T09:30:05-07:00"}


def test_an_instant_that_carries_its_offset_keeps_it():
    at = datetime.fromisoformat("2025-11-08T10:30:05.250000-06:00")

    assert told(Carrying({"at": at}).data) == {"at": "2025-11-08T10:30:05-06:00"}


@pytest.mark.django_db
def test_rows_with_zones_ask_for_no_property_one_by_one(cast, django_assert_num_queries):
    cast.south.time_zone = "America/Denver"
    cast.south.save()
    for land in (cast.north, cast.south):
        Errand.objects.create(
            property=land, kind="trim", thing_id=land.id, due_on=date(2025, 11, 8), go_from=ANY
        )

    class ErrandHour(serializers.ModelSerializer[Errand]):
        go_from = LocalInstantField(place="property", whole_seconds=True)

        class Meta:
            model = Errand
            fields = ["go_from"]

    with django_assert_num_queries(1):
        rows = ErrandHour(with_zones(Errand.objects.order_by("property__name")), many=True).data

    assert [one["go_from"] for one in told(rows)] == [
        "2025-11-08T10:30:05-06:00",
        "2025-11-08T09:30:05-07:00",
    ]

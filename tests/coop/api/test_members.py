"""Bodies: a member that nobody reads is refused, and a time says its offset."""

import pytest
from rest_framework import serializers

from coop.api.instants import OFFSET_NEEDED
from coop.api.members import MOST_FAULTS, refuse_misread_members
from coop.api.problems import InvalidInput


class Inner(serializers.Serializer):
    count = serializers.IntegerField()


class Outer(serializers.Serializer):
    name = serializers.CharField()
    told = serializers.CharField(read_only=True)
    one = Inner(required=False)
    many = Inner(many=True, required=False)
    shown = Inner(read_only=True)
    settings = serializers.JSONField(required=False)
    at = serializers.DateTimeField(required=False)


def faults(body) -> list[dict[str, str]]:
    try:
        refuse_misread_members(Outer(data=body))
    except InvalidInput as refused:
        return list(refused.members["errors"])
    return []


def pointers(body) -> list[str]:
    """Of what would have been taken in silence."""
    return [
        fault["pointer"]
        for fault in faults(body)
        if fault["code"] == "unknown" or fault["detail"] == OFFSET_NEEDED
    ]


@pytest.mark.parametrize(
    ("body", "unknown"),
    [
        ({"name": "x"}, []),
        ({"name": "x", "told": "sent back"}, []),
        ({"name": "x", "settings": {"whatever": {"it": "holds"}}}, []),
        ({"name": "x", "shown": {"count": 1, "computed": 2}}, []),
        ({"at": "2025-12-04T06:00:00"}, ["#/at"]),
        ({"at": 5}, []),
        ({"nam": "x", "other": 1}, ["#/nam", "#/other"]),
        ({"one": {"count": 1, "cuont": 2}}, ["#/one/cuont"]),
        ({"many": [{"count": 1}, {"n": 2}]}, ["#/many/1/n"]),
        (
            {"a/b": 1, "one": {"m~n": 1}, "many": [{"/": 1}]},
            ["#/a~1b", "#/one/m~0n", "#/many/0/~1"],
        ),
        ({"one": "no object", "many": {"n": 1}}, []),
        ("no object", []),
    ],
)
def test_each_member_that_nobody_reads_is_named_where_it_stands(body, unknown):
    assert pointers(body) == unknown


def test_what_an_object_has_shown_may_come_back_with_a_change_of_it():
    change = Inner(data={"count": 1, "name": "x", "nam": "x"})

    with pytest.raises(InvalidInput) as refused:
        refuse_misread_members(change, shown=Outer().fields)

    assert [error["pointer"] for error in refused.value.members["errors"]] == ["#/nam"]


def test_whatever_else_is_wrong_is_named_beside_what_nobody_reads():
    told = faults({"nam": "x", "at": "2025-12-04T06:00:00", "one": {"count": "many"}})

    assert [fault["pointer"] for fault in told] == ["#/nam", "#/at", "#/name", "#/one/count"]


def test_an_answer_names_a_bounded_number_of_members():
    many = {f"n{index}": 1 for index in range(3 * MOST_FAULTS)}

    assert len(pointers(many)) == len(faults(many)) == MOST_FAULTS


def test_a_misspelt_member_is_told_what_may_have_been_meant(cast):
    body = {"property": str(cast.north.id), "sesion_kind": "morning", "reason": "Logging"}

    answer = cast.client(cast.manager).post("/api/v1/closures/", body)

    assert answer.status_code == 400
    assert answer.json()["errors"][0] == {
        "pointer": "#/sesion_kind",
        "detail": "Unknown member; session_kind?",
        "code": "unknown",
    }


@pytest.mark.parametrize(
    ("instant", "status"),
    [
        ("2025-12-04T06:00:00-06:00", 201),
        ("2025-12-04T12:00Z", 201),
        ("2025-12-04T12:00:00.25Z", 201),
        ("2025-12-04T12:00:00.1234567Z", 201),
        ("2025-12-04T06:00:00.123456789-06:00", 201),
        ("2025-12-04T06:00:00-0600", 201),
        ("2025-12-04T06:00:00", 400),
        ("2025-12-04", 400),
        ("2025-W49-4T06:00:00Z", 400),
        ("2025-12-04T25:00:00Z", 400),
        ("2025-12-04T06:00:00+24:00", 400),
        ("", 400),
    ],
)
def test_a_time_without_its_offset_is_bad_input(cast, instant, status):
    body = {"property": str(cast.north.id), "kind": "ice", "source": "member", "starts_at": instant}

    answer = cast.client(cast.manager).post("/api/v1/conditions/", body)

    assert answer.status_code == status, answer.content
    if status == 400:
        assert answer.json()["errors"][0]["pointer"] == "#/starts_at"


@pytest.mark.parametrize(
    ("instant", "status"),
    [
        ("2025-12-04T06:00:00-06:00", 200),
        ("2025-12-04T06:00:00.123456789%2B01:00", 200),
        ("2025-12-04T06:00:00", 400),
        ("2025-12-04", 400),
        ("2025-12-04T06:00:00+01:00", 400),
    ],
)
def test_so_is_one_in_a_query(cast, instant, status):
    """An unescaped + is a space (URL Standard, application/x-www-form-urlencoded)."""
    answer = cast.client(cast.manager).get(f"/api/v1/observed-hours/?since={instant}")

    assert answer.status_code == status, answer.content
    if status == 400:
        (error,) = answer.json()["errors"]
        assert (error["pointer"], "escaped" in error["detail"]) == ("?since", True)

"""What is wrong with a query is told at its parameter, whoever finds it; a body's at its member."""

import pytest

pytestmark = pytest.mark.django_db


def pointers(answer):
    assert answer.status_code == 400, answer.data
    return [error["pointer"] for error in answer.data["errors"]]


@pytest.mark.parametrize(
    ("address", "told"),
    [
        # A serializer of the question, its own check of two together, a filter, a service.
        ("offers/?property={north}&date=tomorrow", ["?date"]),
        ("offers/?property={north}", ["?date"]),
        ("visits/?property={north}&first_on=2025-10-20&last_on=2025-10-01", ["?last_on"]),
        ("stands/?ids=no-id", ["?ids"]),
        ("stands/?kind=hammock", ["?kind"]),
        ("stands/?near=-91.49,43.21", ["?within_m"]),
        ("stands/?colour=red", ["?colour"]),
        ("closures/?property=north", ["?property"]),
    ],
)
def test_a_fault_of_a_query_names_its_parameter(cast, address, told):
    answer = cast.client(cast.manager).get(f"/api/v1/{address.format(north=cast.north.id)}")

    assert pointers(answer) == told
    assert told[0].removeprefix("?") in answer.data["detail"]
    assert "#/" not in answer.data["detail"]


def test_a_fault_of_a_body_points_into_the_body(cast):
    answer = cast.client(cast.manager).post("/api/v1/stands/", {"kind": "hammock"}, format="json")

    assert "#/kind" in pointers(answer)

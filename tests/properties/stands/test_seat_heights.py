"""A seat off the ground has a height above 0 m: entered, changed, and read from a map."""

import pytest

from coop.outbox.models import Fact
from properties.stands.models import Stand
from tests.cast import make_stand
from tests.properties.land.test_map_exchange import STAND, collection, send
from tests.properties.stands.test_stands_api import BODY


@pytest.mark.parametrize("kind", ["ladder", "hang_on", "tower"])
@pytest.mark.parametrize("height_m", [0, 0.0, "0", -0.0])
def test_a_seat_off_the_ground_is_not_entered_at_none(cast, kind, height_m):
    body = {**BODY, "property": cast.north.id, "kind": kind, "seat_height_m": height_m}
    answer = cast.client(cast.manager).post("/api/v1/stands/", body)

    assert answer.status_code == 400
    assert [(error["pointer"], error["detail"]) for error in answer.data["errors"]] == [
        ("#/seat_height_m", "Must be above 0 m for every kind but a ground blind.")
    ]
    assert not Stand.objects.exists()
    assert not Fact.objects.filter(ids__has_key="stand").exists()


def test_a_seat_off_the_ground_is_not_changed_to_none_and_a_blind_may_be(cast):
    ladder = make_stand(cast.north, "Ladder", seat_height_m=4.8)
    blind = make_stand(cast.north, "Blind", kind="ground_blind", seat_height_m=0.4)
    client = cast.client(cast.manager)

    def height_of(stand, height_m):
        path = f"/api/v1/stands/{stand.id}/"
        answer = client.patch(path, {"seat_height_m": height_m}, HTTP_IF_MATCH="*")
        stand.refresh_from_db()
        return answer.status_code, stand.seat_height_m

    assert height_of(ladder, 0) == (400, 4.8)
    assert height_of(ladder, 0.1) == (200, 0.1)
    assert height_of(blind, 0) == (200, 0)


def test_a_stand_entered_at_no_height_long_ago_is_changed_in_all_else(cast):
    stand = make_stand(cast.north, "Oak point", seat_height_m=0)
    path, client = f"/api/v1/stands/{stand.id}/", cast.client(cast.manager)

    assert client.patch(path, {"notes": "Wasps"}, HTTP_IF_MATCH="*").status_code == 200
    assert client.patch(path, {"kind": "tower"}, HTTP_IF_MATCH="*").status_code == 400


@pytest.mark.parametrize("height_m", [0, "0.0"])
def test_a_map_that_states_no_height_for_a_ladder_is_held_back(cast, height_m):
    stated = {**STAND["properties"], "stand_kind": "ladder", "seat_height_m": height_m}
    ladder = {**STAND, "properties": stated}

    answer = send(cast.client(cast.manager), cast.north, collection(ladder))

    assert answer.status_code == 400
    (error,) = answer.data["errors"]
    assert "seat_height_m: Must be above 0 m" in error["detail"]
    assert not Stand.objects.exists()

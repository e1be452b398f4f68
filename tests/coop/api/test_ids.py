"""Many objects by their ids at once: those that the caller sees, and no word of the others."""

from uuid import uuid4

import pytest

from properties.wind.models import SessionFit
from tests.cast import make_stand
from tests.scheduling.sits.stage import booked, give_fits, make_stage

PATHS = ("stands", "sits", "fits")


@pytest.fixture
def ids(cast):
    """By path the ids of one object seen by the north's manager and of one hidden."""
    stage = make_stage(cast)
    foreign = make_stand(cast.foreign, "Foreign")
    give_fits(foreign)
    seen, hidden = booked(stage), booked(stage, cast.other_member, stage.far)
    return {
        "stands": (stage.oak.id, foreign.id),
        "sits": (seen.id, hidden.id),
        "fits": (
            SessionFit.objects.filter(stand=stage.oak).first().id,
            SessionFit.objects.filter(stand=foreign).first().id,
        ),
    }


@pytest.mark.parametrize("path", PATHS)
def test_those_seen_are_told_and_hidden_ones_like_made_up_ones(cast, ids, path):
    client, (seen, hidden) = cast.client(cast.manager), ids[path]

    def found(*asked):
        address = f"/api/v1/{path}/"
        answer = client.get(address, {"ids": ",".join(map(str, asked)), "page_size": 100})
        assert answer.status_code == 200
        return [row["id"] for row in answer.json()["results"]]

    assert found(seen, hidden, uuid4()) == [str(seen)]
    assert found(hidden) == found(uuid4()) == []


@pytest.mark.parametrize("path", PATHS)
def test_a_hundred_at_once_and_no_more(cast, path):
    client = cast.client(cast.manager)

    def status(count):
        ids = ",".join(str(uuid4()) for _number in range(count))
        return client.get(f"/api/v1/{path}/", {"ids": ids}).status_code

    assert (status(100), status(101)) == (200, 400)


@pytest.mark.parametrize("path", PATHS)
def test_what_is_no_id_is_bad_input(cast, path):
    answer = cast.client(cast.manager).get(f"/api/v1/{path}/", {"ids": f"{uuid4()},oak"})

    assert answer.status_code == 400

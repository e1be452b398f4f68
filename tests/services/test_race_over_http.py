"""The race for seats over HTTP, small: real servers, real databases, and a control that bites."""

import pytest

from tests.race.run import postgres_url, race_on_postgres, race_on_sqlite

pytestmark = pytest.mark.services

SMALL = {"requests": 60, "seats": 6, "rounds": 3, "control_rounds": 5}


@pytest.fixture(scope="module", params=["postgres", "sqlite"])
def found(request):
    if request.param == "sqlite":
        return race_on_sqlite(**SMALL)
    url = postgres_url()
    if url is None:
        pytest.skip("no PostgreSQL answers")
    return race_on_postgres(url, **SMALL)


def test_every_round_sells_each_seat_once_and_refuses_the_rest_with_a_code(found):
    assert found["sold_exactly"] == SMALL["rounds"]
    assert found["refused"] == SMALL["rounds"] * (SMALL["requests"] - SMALL["seats"])
    assert (found["errors"], found["uncoded"]) == (0, 0)


def test_without_the_guard_the_same_race_oversells(found):
    assert found["control_oversold"] >= 1


def test_one_key_sent_fifty_times_at_once_leaves_one_sit_and_equal_answers(found):
    assert found["same_key"] == {"sits": 1, "different_answers": 1, "status": 201}


def test_neighbouring_days_asked_for_at_once_break_neither_rest_nor_the_wind_rule(found):
    days = found["neighbouring_days"]

    assert days["errors"] == 0
    assert days["created"] == days["sits"] >= 1
    # Defaults of the house rules: three days of rest, two uses in ten days on one wind.
    assert days["least_gap_days"] is None or days["least_gap_days"] >= 3
    assert days["most_in_ten_days"] <= 2

"""The chain of numbers behind a fit: whoever has a calculator comes to the same answer."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from properties.sessions.kinds import SessionKind
from properties.wind.chain import chain_of
from properties.wind.fit import stand_fit
from properties.wind.models import SessionFit
from tests.properties.wind.fit_cases import (
    SETTINGS,
    air,
    area,
    at,
    blind,
    corridor,
    tree_stand,
)
from tests.properties.wind.test_fits_from_the_map import blind as blind_on_the_map
from tests.properties.wind.test_fits_from_the_map import compute, store

__all__ = ["blind_on_the_map"]

ROUTE = np.array([at(200, 300), at(200, 5)])


def chain(stand, receptors, hours):
    fit = stand_fit(
        stand=stand,
        receptors=receptors,
        air=hours,
        session_kind=SessionKind.EVENING,
        settings=SETTINGS,
    )
    return chain_of(fit, air=hours, place=stand), fit


def by_hand(told):
    """Σ share · weight · e^−(approach + hunt + exit), as the documentation says."""
    draws = told["draws"]
    return sum(
        source["share"] * weight * math.exp(-(approach + hunt + leave))
        for source in draws["sources"]
        for weight, approach, hunt, leave in zip(
            draws["weight"], draws["approach"], source["hunt"], draws["exit"], strict=True
        )
    )


@pytest.mark.parametrize(
    "stand", [blind(approach=ROUTE, exit=ROUTE[::-1]), tree_stand(approach=ROUTE)]
)
@pytest.mark.parametrize("wind", [270.0, 315.0, 90.0, np.nan])
def test_the_draws_multiplied_and_added_by_hand_give_the_fit(stand, wind):
    receptors = [
        area("bedding", at(90, 200)),
        area("food_plot", at(180, 150)),
        corridor(at(45, 200), at(135, 200)),
    ]

    told, fit = chain(stand, receptors, air(wind, 3.0))

    assert by_hand(told) == pytest.approx(fit.fit, abs=5e-4)
    assert sum(told["draws"]["weight"]) == pytest.approx(1.0, abs=1e-4)


def test_presence_times_chance_is_the_mean_of_what_the_draws_bring():
    receptors = [area("bedding", at(90, 200)), area("food_plot", at(90, 320))]

    told, _fit = chain(blind(approach=ROUTE, exit=ROUTE[::-1]), receptors, air(280.0, 3.0))

    draws = told["draws"]
    for part, column in (
        ("approach", draws["approach"]),
        ("hunt", draws["sources"][0]["hunt"]),
        ("exit", draws["exit"]),
    ):
        by_feature = sum(
            each["parts"][part]["presence"] * each["parts"][part]["chance"]
            for each in told["features"]
        )
        by_draw = sum(w * value for w, value in zip(draws["weight"], column, strict=True))
        assert by_feature == pytest.approx(by_draw, abs=2e-3)


def test_what_was_given_stands_beside_what_the_stand_makes_of_it():
    hours = air([270.0, np.nan, 280.0], 3.0, gust_mps=[5.0, np.nan, 6.0])
    stand = blind(wind_offset_deg=np.full(8, 12.0), wind_spread_deg=np.full(8, 9.0))

    told, _fit = chain(stand, [area("bedding", at(90, 200))], hours)

    first, variable, _last = told["hours"]
    assert first["given"]["wind_from_deg"] == 270.0
    assert first["given"]["gust_mps"] == 5.0
    assert (first["stand_offset_deg"], first["stand_spread_deg"]) == (12.0, 9.0)
    assert first["air_from_deg"] == pytest.approx(282.0, abs=0.01)
    # √(15² + 9²): the forecast's error and the stand's own spread.
    assert first["error_deg"] == pytest.approx(17.4929, abs=1e-3)
    assert variable["given"]["wind_from_deg"] is None
    assert variable["given"]["gust_mps"] is None


def test_features_out_of_all_reach_are_counted_and_left_out():
    told, _fit = chain(
        blind(), [area("bedding", at(90, 200)), area("bedding", at(270, 900))], air(270.0, 3.0)
    )

    assert [each["kind"] for each in told["features"]] == ["bedding"]
    assert told["features_left_out"] == 1


def test_an_elevated_stand_tells_the_share_that_lies_on_the_ground():
    told, _fit = chain(tree_stand(), [area("bedding", at(90, 60))], air(270.0, 2.0))

    assert [(each["scent_from"], each["share"]) for each in told["draws"]["sources"]] == [
        ("seat", 0.8),
        ("ground", 0.2),
    ]


def test_the_chain_of_an_hour_that_nobody_forecast_is_null_and_no_nan():
    hours = air([270.0, 270.0, 270.0], 3.0)
    hours = replace(
        hours,
        known=np.array([True, False, True]),
        speed_mps=np.array([3.0, np.nan, 3.0]),
        wind_from_deg=np.array([270.0, np.nan, 270.0]),
    )

    told, _fit = chain(blind(), [area("bedding", at(90, 200))], hours)

    written = json.dumps(told, allow_nan=False)
    assert "NaN" not in written
    assert told["fit"] is None
    assert told["hours"][1]["given"]["speed_mps"] is None


def test_no_feature_leaves_a_chain_without_any():
    told, _fit = chain(blind(), [], air(270.0, 3.0))

    assert told["features"] == []
    assert by_hand(told) == pytest.approx(1.0, abs=1e-5)


@pytest.mark.usefixtures("blind_on_the_map")
def test_one_fit_over_http_carries_forecast_hours_features_draws_and_the_stands_wind(cast):
    issue = store(cast.north, 270).issue
    compute(cast.north)
    row = SessionFit.objects.get(kind="evening")

    told = cast.client(cast.member).get(f"/api/v1/fits/{row.id}/").data

    assert told["forecast"]["id"] == str(issue.id)
    assert told["forecast"]["source"] == "test"
    detail = told["detail"]
    assert by_hand(detail) == pytest.approx(told["fit"], abs=5e-4)
    assert detail["hours"][0]["given"]["speed_mps"] == 4.0
    assert detail["features"][0]["feature"] == "Cedar bench"
    assert detail["stand_wind"]["reports"] == 0
    assert detail["judged_by"]["alert_distance_m"] == 250.0


@pytest.mark.usefixtures("blind_on_the_map")
def test_the_chain_names_no_place_to_an_outfitters_app(cast):
    store(cast.north, 270)
    compute(cast.north)
    row = SessionFit.objects.get(kind="evening")

    told = cast.application_client().get(f"/api/v1/fits/{row.id}/").data

    assert "draws" in told["detail"]
    assert "features" not in told["detail"]
    assert "Cedar bench" not in str(told)

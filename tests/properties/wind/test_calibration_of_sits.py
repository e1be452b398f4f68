"""Reported sits against the fits stored for them, and what a manager is shown."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import numpy as np
import pytest

from properties.sessions.kinds import SessionKind
from properties.wind import evidence
from properties.wind.calibration_services import calibrate
from properties.wind.evidence import SitOutcome
from properties.wind.models import FitCalibration
from properties.wind.sit_replay import smelled_chances
from tests.cast import make_stand
from tests.properties.wind.test_fits_from_the_map import NOW, SATURDAY, map_bedding, store


@pytest.fixture
def told(monkeypatch):
    outcomes: list[SitOutcome] = []
    monkeypatch.setattr(evidence, "_sit_outcomes", [lambda _land: outcomes])
    return outcomes


def outcome(stand, *, fit=0.6, winded=0, issue=None, day=SATURDAY, kind=SessionKind.EVENING):
    return SitOutcome(
        sit_id=uuid4(),
        stand_id=stand.id,
        local_date=day,
        kind=kind,
        fit=fit,
        issue_id=issue.id if issue else None,
        winded=winded,
        alarmed=winded,
    )


def result(land):
    calibrate(land=land, now=NOW)
    return FitCalibration.objects.get(property=land).result


def test_a_sit_without_a_stored_fit_is_counted_apart(cast, told):
    stand = make_stand(cast.north, "Blind")
    told += [outcome(stand, fit=0.7, winded=2), outcome(stand, fit=None)]

    found = result(cast.north)

    assert (found["sits"], found["without_forecast"]) == (1, 1)
    assert [each["sits"] for each in found["bins"]] == [0, 1, 0, 0, 0]
    assert found["winded"]["count"] == 1


def test_few_sits_suggest_no_distance_and_say_how_many_are_asked_for(cast, told):
    stand = make_stand(cast.north, "Blind")
    told += [outcome(stand, winded=1)]

    found = result(cast.north)["alert_distance"]

    assert found["suggested"] is None
    assert "40" in found["why_not"]
    assert found["present_m"] == 250.0


def stands_at_distances(land):
    """Blinds upwind of one bedding area in an east wind's lee, at rising distances."""
    return [
        make_stand(
            land,
            f"Blind {number}",
            kind="ground_blind",
            seat_height_m=1,
            cover="open",
            longitude=land.longitude - 0.0008 * number,
        )
        for number in range(10)
    ]


def test_the_chance_of_being_smelled_rises_with_the_alert_distance(cast):
    map_bedding(cast.north, east_of=0.002)
    issue = store(cast.north, 270).issue
    (stand, *_rest) = stands_at_distances(cast.north)

    (row,) = smelled_chances(
        cast.north, [outcome(stand, issue=issue)], alert_distances_m=np.array([60.0, 250.0, 900.0])
    )

    assert row[0] < row[1] < row[2] <= 1.0


def test_a_sit_whose_forecast_is_gone_is_not_judged(cast):
    map_bedding(cast.north, east_of=0.002)
    (stand, *_rest) = stands_at_distances(cast.north)
    other = outcome(make_stand(cast.south, "Elsewhere"), issue=store(cast.south, 270).issue)

    chances = smelled_chances(
        cast.north, [outcome(stand), other], alert_distances_m=np.array([250.0])
    )

    assert np.isnan(chances).all()


def test_enough_sits_suggest_the_distance_they_were_made_with_and_change_no_setting(cast, told):
    map_bedding(cast.north, east_of=0.002)
    issue = store(cast.north, 270).issue
    sits = [
        outcome(stand, issue=issue, kind=kind, day=SATURDAY + timedelta(days=day))
        for stand in stands_at_distances(cast.north)
        for kind in SessionKind
        for day in (0, 1)
    ] * 8
    truth = smelled_chances(cast.north, sits, alert_distances_m=np.array([150.0]))[:, 0]
    sits = [sit for sit, chance in zip(sits, truth, strict=True) if np.isfinite(chance)]
    truth = truth[np.isfinite(truth)]
    happened = np.random.default_rng(2).uniform(size=len(sits)) < truth
    told += [
        replace(sit, winded=int(hit), alarmed=int(hit))
        for sit, hit in zip(sits, happened, strict=True)
    ]

    found = result(cast.north)["alert_distance"]

    assert found["suggested"] is not None, found["why_not"]
    assert found["suggested"]["low_m"] <= 150 <= found["suggested"]["high_m"]
    assert found["suggested"]["winded"] == int(happened.sum())
    cast.north.refresh_from_db()
    assert "wind" not in cast.north.settings


def test_the_same_reports_are_not_judged_twice(cast, told):
    told += [outcome(make_stand(cast.north, "Blind"))]

    first = calibrate(land=cast.north, now=NOW)
    again = calibrate(land=cast.north, now=NOW + timedelta(days=1))

    assert (first.is_new, again.is_new) == (True, False)
    assert FitCalibration.objects.get().computed_at == NOW


def test_managers_see_the_calibration_and_members_do_not(cast, told):
    told += [outcome(make_stand(cast.north, "Blind"), winded=1)]
    calibrate(land=cast.north, now=NOW)
    url = f"/api/v1/fit-calibrations/?property={cast.north.id}"

    (row,) = cast.client(cast.manager).get(url).data["results"]

    assert row["result"]["winded"]["count"] == 1
    assert row["result"]["alert_distance"]["suggested"] is None
    assert "Nothing here is applied" in row["notice"]
    assert cast.client(cast.member).get(url).data["results"] == []
    assert cast.client(cast.stranger).get(url).data["results"] == []

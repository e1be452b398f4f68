"""Surveys and observations over HTTP: counted, judged, and told with what speaks against them."""

from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.sits.models import Sighting, Sit, SitReport, SitState
from scrapes.cameras.models import CameraUnit, Deployment, Observation, ObservationImport
from scrapes.sites.models import Scrape
from tests.cast import NOW, Cast, make_stand

SURVEYS = "/api/v1/camera-surveys/"
AUGUST = {"first_on": "2025-08-10", "last_on": "2025-08-23"}


@pytest.fixture
def camera(cast: Cast):
    land = cast.north
    scrape = Scrape.objects.create(
        property=land,
        name="Bench",
        kind="mock",
        longitude=land.longitude,
        latitude=land.latitude,
    )
    unit = CameraUnit.objects.create(property=land, name="One")
    hung = Deployment.objects.create(
        camera=unit,
        scrape=scrape,
        starts_at=datetime(2025, 8, 1, tzinfo=UTC),
        longitude=land.longitude,
        latitude=land.latitude,
    )
    batch = ObservationImport.objects.create(
        property=land,
        source="test",
        file_name="a.csv",
        digest="d",
        imported_at=NOW,
        rows_read=0,
        rows_taken=0,
    )

    def seen(number, *, day=12, kind="animal", **fields):
        Observation.objects.bulk_create(
            Observation(
                deployment=hung,
                batch=batch,
                source_key=f"{day}-{kind}-{sorted(fields.items())}-{each}",
                observed_at=datetime(2025, 8, day, 12, each % 60, tzinfo=UTC),
                kind=kind,
                **{"species": "deer", **fields},
            )
            for each in range(number)
        )

    unit.seen = seen
    return unit


def opened(cast, client, **more):
    body = {"property": str(cast.north.id), "name": "August", **AUGUST, **more}
    answer = client.post(SURVEYS, body, format="json")
    assert answer.status_code == 201, answer.content
    return answer.json()


def test_pictures_are_counted_by_class_and_whoever_tells_the_bucks_apart_stands_by_it(cast, camera):
    camera.seen(12, sex="male", individual="Split brow")
    camera.seen(8, sex="male")
    camera.seen(10, sex="female", count=2)
    camera.seen(5, life_stage="juvenile")
    camera.seen(3)
    camera.seen(4, species="raccoon")
    camera.seen(6, kind="unclassified", species="")
    camera.seen(9, sex="male", day=25)  # After the survey.
    client = cast.client(cast.manager)
    survey = opened(cast, client, cameras=[str(camera.id)])
    assert survey["estimate"]["figures"] is None

    counted = client.post(f"{SURVEYS}{survey['id']}/count/").json()
    figures = [counted[f"{name}_pictures"] for name in ("buck", "doe", "fawn", "unknown")]
    assert figures == [20, 20, 5, 3]
    assert counted["counted_from"] == "pictures"
    shown = client.get(f"{SURVEYS}{survey['id']}/pictures/").json()
    assert shown["bucks_named"] == [{"individual": "Split brow", "pictures": 12}]
    assert (shown["buck_pictures_unnamed"], shown["untagged"]) == (8, 6)

    decided = client.patch(
        f"{SURVEYS}{survey['id']}/", {"unique_bucks": 4}, format="json", HTTP_IF_MATCH="*"
    ).json()
    assert decided["bucks_decided_by_name"] == cast.manager.name
    assert decided["bucks_decided_at"] is not None
    estimate = decided["estimate"]
    assert estimate["figures"]["pictures_per_buck"] == 5
    assert estimate["figures"]["deer"] == 4 + 4 + 1
    assert estimate["figures"]["unknown_share"] == pytest.approx(3 / 48)
    assert "32.2 %" in estimate["known_bias"]
    assert len(estimate["assumptions"]) > 4
    assert any("4 bucks" in sentence for sentence in estimate["weaknesses"])


def test_a_survey_of_one_species_counts_that_species_alone(cast, camera):
    camera.seen(6, sex="male")
    camera.seen(3, sex="male", species="odocoileus hemionus")
    client = cast.client(cast.manager)
    both = opened(cast, client, cameras=[str(camera.id)])
    one = opened(cast, client, name="Mule", cameras=[str(camera.id)], species="mule deer")

    counts = [
        client.post(f"{SURVEYS}{survey['id']}/count/").json()["buck_pictures"]
        for survey in (both, one)
    ]
    assert counts == [9, 3]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        (
            {"unique_bucks": 30, "buck_pictures": 20, "doe_pictures": 1, "fawn_pictures": 1},
            "#/unique_bucks",
        ),
        ({"buck_pictures": 20}, "#/buck_pictures"),
        ({"last_on": "2025-08-01"}, "#/last_on"),
        ({"species": "unicorn"}, "#/species"),
    ],
)
def test_a_survey_that_cannot_be_is_refused_by_field(cast, body, field):
    client = cast.client(cast.manager)
    sent = {"property": str(cast.north.id), "name": "August", **AUGUST, **body}
    answer = client.post(SURVEYS, sent, format="json")
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [field]


def test_members_read_the_estimate_and_not_the_cameras_and_landowners_neither(cast, camera):
    manager = cast.client(cast.manager)
    survey = opened(cast, manager, cameras=[str(camera.id)], notes="Feeder at the bench")
    path = f"{SURVEYS}{survey['id']}/"

    shown = cast.client(cast.member).get(path).json()
    assert (shown["cameras"], shown["camera_count"], shown["notes"]) == ([], 1, "")
    assert cast.client(cast.member).get(f"{path}pictures/").status_code == 403
    assert cast.client(cast.landowner).get(path).status_code == 404
    assert manager.post(f"{path}retire/").json()["retired_at"] is not None


def sat_in(cast, stand, day, *, deer, hours=3, hours_known=True):
    starts = datetime(day.year, day.month, day.day, 20, tzinfo=UTC)
    sit = Sit.objects.create(
        property=cast.north,
        stand=stand,
        person=cast.member,
        local_date=day,
        span="evening",
        starts_at=starts,
        ends_at=starts + timedelta(hours=4),
        state=SitState.REPORTED,
        checked_in_at=starts if hours_known else None,
        checked_out_at=starts + timedelta(hours=hours) if hours_known else None,
    )
    report = SitReport.objects.create(sit=sit, reported_at=starts)
    if deer:
        Sighting.objects.create(report=report, sex="doe", age_class="adult", count=deer)
        Sighting.objects.create(report=report, count=1)


def test_observations_are_told_by_season_and_class_with_limits_trend_and_method(cast):
    stand = make_stand(cast.north, "Oak")
    for year, deer in ((2022, 12), (2023, 6), (2024, 3)):
        for day in range(1, 7):
            sat_in(cast, stand, date(year, 11, day), deer=deer)
    sat_in(cast, stand, date(2024, 11, 20), deer=5, hours_known=False)
    path = f"/api/v1/herd-observations/?property={cast.north.id}"
    query = "&first_on=2022-07-01&last_on=2025-06-30"
    answer = cast.client(cast.member).get(path + query)

    assert answer.status_code == 200, answer.content
    told = answer.json()
    assert told["periods"] == ["2022", "2023", "2024"]
    assert told["sits_without_hours"] == 1
    does = next(one for one in told["classes"] if one["deer_class"] == "doe")
    assert [rate["per_hour"] for rate in does["rates"]] == [4.0, 2.0, 1.0]
    assert does["trend"]["verdict"] == "falling"
    assert does["trend"]["ratio"] == pytest.approx(0.5, rel=0.02)
    unknown = next(one for one in told["classes"] if one["deer_class"] == "unknown")
    assert unknown["rates"][0]["seen"] == 6
    assert "not a number of deer" in told["method"]

    weeks = cast.client(cast.member).get(f"{path}{query}&by=week").json()
    assert weeks["periods"][0] == "2022-10-31"  # The Monday of 1 November 2022.
    assert cast.client(cast.landowner).get(path).status_code == 403
    assert cast.client(cast.stranger).get(path).status_code == 400


def test_a_span_turned_round_is_refused(cast):
    path = f"/api/v1/herd-observations/?property={cast.north.id}"
    answer = cast.client(cast.manager).get(f"{path}&first_on=2025-02-01&last_on=2025-01-01")
    assert answer.status_code == 400

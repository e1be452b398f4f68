"""A camera's health from what is stored: its pictures, its reports, its readings."""

from datetime import timedelta

import pytest

from scrapes.cameras.health_queries import evidence_of, health_of
from scrapes.cameras.models import CameraStatus, Deployment, Observation, ObservationImport, Outage
from tests.cast import NOW
from tests.scrapes.sites.places import HUNG_AT, make_camera, make_deployment, make_scrape


@pytest.fixture
def hung(cast):
    return make_deployment(make_camera(cast.north), make_scrape(cast.north))


def pictures(deployment, instants):
    batch = ObservationImport.objects.create(
        property=deployment.camera.property,
        source="csv",
        file_name="card.csv",
        digest=str(deployment.id),
        imported_at=NOW,
        rows_read=0,
        rows_taken=0,
    )
    Observation.objects.bulk_create(
        Observation(
            deployment=deployment, batch=batch, source_key=str(n), observed_at=at, kind="blank"
        )
        for n, at in enumerate(instants)
    )


def every_six_hours(count):
    return [HUNG_AT + timedelta(hours=6 * n) for n in range(count)]


def read(camera, at, **fields):
    return CameraStatus.objects.create(camera=camera, reported_at=at, **fields)


def codes(report):
    return [finding.code for finding in report.health.findings]


def test_a_running_camera_has_no_end_and_works(hung):
    pictures(hung, every_six_hours(120))
    read(hung.camera, NOW, card_pulled=True)

    report = health_of(camera=hung.camera, now=NOW)

    assert (report.health.state, codes(report)) == ("working", [])
    assert (report.pictures, report.known_up_to) == (120, NOW)


def test_a_camera_silent_for_longer_than_its_habit_is_at_fault(hung):
    pictures(hung, every_six_hours(40))
    read(hung.camera, NOW, card_pulled=True)

    report = health_of(camera=hung.camera, now=NOW)

    assert (report.health.state, codes(report)) == ("at_fault", ["silent"])


def test_what_is_known_ends_with_the_last_card_pulled(hung):
    pictures(hung, every_six_hours(40))

    report = health_of(camera=hung.camera, now=NOW)

    assert report.known_up_to == HUNG_AT + timedelta(hours=6 * 39)
    assert codes(report) == []


def test_a_card_cameras_reading_without_the_card_tells_nothing_of_pictures(hung):
    read(hung.camera, NOW, battery_pct=80)

    assert health_of(camera=hung.camera, now=NOW).health.state == "unknown"


def test_nothing_later_than_the_instant_asked_about_counts(hung):
    pictures(hung, every_six_hours(120))
    read(hung.camera, NOW, card_pulled=True, battery_pct=4)
    earlier = HUNG_AT + timedelta(days=10)

    evidence = evidence_of(deployment=hung, camera=hung.camera, now=earlier)

    assert len(evidence.trigger_s) == 41
    assert evidence.trigger_s.max() == earlier.timestamp()
    assert len(evidence.battery_s) == 0


def test_readings_of_the_next_place_are_not_held_against_this_one(hung):
    moved_at = NOW - timedelta(days=5)
    Deployment.objects.filter(id=hung.id).update(ends_at=moved_at)
    hung.refresh_from_db()
    make_deployment(hung.camera, make_scrape(hung.camera.property, "Far oak"), starts_at=moved_at)
    read(hung.camera, moved_at, card_pulled=True, card_used_pct=20)
    read(hung.camera, NOW, card_pulled=True, card_used_pct=99)

    evidence = evidence_of(deployment=hung, camera=hung.camera, now=NOW)

    assert evidence.known_up_to_s == evidence.taken_down_s == moved_at.timestamp()
    assert evidence.card_used_percent == 20


def test_a_sending_cameras_missing_reports_and_falling_battery_are_told_over_http(cast, hung):
    hung.camera.transmits = True
    hung.camera.save()
    pictures(hung, every_six_hours(76))
    for day in range(20):
        at = HUNG_AT + timedelta(days=day)
        read(hung.camera, at, battery_pct=90 - 4 * day)
    outage = Outage.objects.create(
        deployment=hung, kind="dead", starts_at=HUNG_AT + timedelta(days=20), estimated=True
    )

    answer = cast.client(cast.manager).get(f"/api/v1/cameras/{hung.camera_id}/health/")

    assert answer.status_code == 200
    assert answer.data["state"] == "at_fault"
    assert answer.data["hides_visits"] is True
    found = {finding["code"]: finding["sentence"] for finding in answer.data["findings"]}
    assert set(found) == {"no_heartbeat", "battery_spent"}
    # From 90 % falling 4 points a day: 10 % is reached on the 20th day.
    assert answer.json()["battery_empty_at"] == "2025-10-22T12:00:00-05:00"
    assert answer.data["outage"] == str(outage.id)
    assert answer.data["deployment"] == str(hung.id)


def test_a_camera_that_never_hung_is_unknown_over_http(cast):
    camera = make_camera(cast.north)

    answer = cast.client(cast.manager).get(f"/api/v1/cameras/{camera.id}/health/")

    assert answer.data["state"] == "unknown"
    assert answer.data["deployment"] is None
    assert answer.data["battery_empty_at"] is None


def test_judging_asks_as_often_for_many_pictures_as_for_none(hung, django_assert_max_num_queries):
    pictures(hung, every_six_hours(120))

    with django_assert_max_num_queries(8):
        health_of(camera=hung.camera, now=NOW)

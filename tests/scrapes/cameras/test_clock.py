"""A wrong clock shows by what imports could not take, and by daylight at night."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from coop.access.actors import system_actor
from scrapes.cameras.clock_queries import ClockRows
from scrapes.cameras.health_queries import health_of
from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations
from scrapes.cameras.models import CameraStatus, Deployment
from scrapes.cameras.night import in_the_dark
from scrapes.visits.queries import scrape_visits
from tests.cast import NOW
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

HUNG_AT = NOW - timedelta(days=30)
DAY = timedelta(days=1)


@pytest.fixture
def hung(cast):
    camera = make_camera(cast.north, "north")
    deployment = make_deployment(camera, make_scrape(cast.north), starts_at=HUNG_AT)
    CameraStatus.objects.create(camera=camera, reported_at=NOW, card_pulled=True)
    return deployment


@pytest.fixture
def take(cast, tmp_path):
    def import_rows(rows, name="card.csv", **options):
        place = tmp_path / name
        header = "instant,deployment,kind,light\n"
        place.write_text(
            header + "".join(f"{at:%Y-%m-%dT%H:%M:%SZ},north,blank,{light}\n" for at, light in rows)
        )
        request = ImportRequest(
            place=place, file_name=name, format=ImportFormat.CSV, strict=False, **options
        )
        return import_observations(
            actor=system_actor("test"), land=cast.north, request=request, now=NOW
        )

    return import_rows


def inside(count=59):
    return [(HUNG_AT + timedelta(hours=12 * n + 1), "") for n in range(count)]


def reset(count=5):
    """What a camera writes whose batteries were changed: its clock begins again."""
    return [(datetime(1970, 1, 1, n, tzinfo=UTC), "") for n in range(count)]


def told(deployment):
    report = health_of(camera=deployment.camera, now=NOW)
    return [finding.code for finding in report.health.findings], report.clock


def test_rows_outside_the_deployment_are_counted_though_none_is_taken(hung, take):
    take([*inside(), *reset()])

    codes, clock = told(hung)
    assert codes == ["clock_wrong"]
    assert clock == ClockRows(outside=5)


def test_a_growing_table_read_again_tells_of_the_same_rows_once(hung, take):
    take([*inside(50), *reset(2)])
    take([*inside(55), *reset(3)], name="later.csv")

    assert told(hung)[1] == ClockRows(outside=3)


def test_rows_of_another_file_are_further_rows(hung, take):
    take([*inside(20), *reset(2)])
    take([(at + timedelta(minutes=5), light) for at, light in [*inside(20), *reset(3)]], "b.csv")

    assert told(hung)[1] == ClockRows(outside=5)


def test_dates_corrected_afterwards_leave_no_doubt_of_the_clock(hung, take):
    early = [(HUNG_AT - timedelta(hours=hour), "") for hour in range(1, 6)]
    take([*inside(), *early])
    assert told(hung)[0] == ["clock_wrong"]
    Deployment.objects.filter(id=hung.id).update(starts_at=HUNG_AT - DAY)

    assert told(hung) == ([], ClockRows())


def test_daylight_at_night_shows_in_the_cameras_health(hung, take):
    midnight = HUNG_AT.replace(hour=6, minute=0)  # 06:00 UTC is after midnight in Iowa.
    noon = HUNG_AT.replace(hour=18, minute=0)
    rows = [(midnight + DAY * n, "day") for n in range(1, 13)]
    rows += [(noon + DAY * n, "day") for n in range(1, 13)]
    rows += [(midnight + DAY * n + timedelta(minutes=9), "night") for n in range(1, 30)]
    result = take(rows)

    codes, clock = told(hung)
    assert codes == ["daylight_at_night"]
    assert clock == ClockRows(daylight=24, daylight_at_night=12)
    assert result.batch.daylight_told == {str(hung.id): {"rows": 24, "at_night": 12}}


def test_a_clock_that_agrees_with_the_sun_is_not_doubted(hung, take):
    noon = HUNG_AT.replace(hour=18, minute=0)
    take([(noon + DAY * n, "day") for n in range(1, 29)])

    assert told(hung) == ([], ClockRows(daylight=28))


def test_a_tables_own_words_for_light_are_translated(hung, take):
    noon = HUNG_AT.replace(hour=18, minute=0)
    columns = {
        "instant": "instant",
        "deployment": "deployment",
        "kind": "kind",
        "light": "light",
        "lights": {"colour": "day", "infrared": "night"},
    }
    take(
        [(noon + DAY * n, "colour" if n % 2 else "infrared") for n in range(1, 29)], columns=columns
    )

    assert told(hung)[1] == ClockRows(daylight=14)


def test_the_wrong_clock_reaches_the_scrapes_figures(cast, hung, take):
    take([*inside(), *reset(20)])
    (one,) = scrape_visits(cast.north, first_on=(NOW - 9 * DAY).date(), last_on=NOW.date(), now=NOW)

    assert [health.state for health in one.cameras] == ["at_fault"]


def test_the_api_tells_the_clock_of_a_camera(cast, hung, take):
    take([*inside(), *reset()])
    answer = cast.client(cast.manager).get(f"/api/v1/cameras/{hung.camera_id}/health/")

    assert answer.data["clock"] == {"outside": 5, "daylight": 0, "daylight_at_night": 0}


def test_dark_begins_where_civil_twilight_ends():
    """41.281944 N, 84.362778 W on 8 November 2019: civil twilight from 06:48 and until 17:54 by
    a clock five hours behind UTC (US Naval Observatory; recomputed)."""
    minutes = ["11:46", "11:50", "17:00", "22:52", "22:56"]
    at = np.array([f"2019-11-08T{minute}" for minute in minutes], dtype="datetime64[s]")
    dark = in_the_dark(
        at.astype(np.int64), latitude_deg=41.281944, longitude_deg=-84.362778, below_deg=-6
    )

    assert dark.tolist() == [True, False, False, False, True]


def test_of_years_without_a_known_sun_nothing_is_said():
    at = np.array(["2150-01-01T06:00"], dtype="datetime64[s]").astype(np.int64)

    assert not in_the_dark(at, latitude_deg=43, longitude_deg=-91, below_deg=-6).any()

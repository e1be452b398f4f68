"""From a stored forecast and a map to fits that a member can read."""

from datetime import UTC, date, datetime, timedelta

import pytest

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from properties.land.services import create_feature
from properties.sessions.kinds import SessionKind
from properties.wind import fit_services, services
from properties.wind import jobs as wind_jobs
from properties.wind.models import ForecastIssue, SessionFit
from properties.wind.weather_hours import WeatherImport, weather_hour
from properties.wind.words import BEYOND_FORECAST
from tests.cast import make_stand, square

NOW = datetime(2025, 11, 7, 12, tzinfo=UTC)
SATURDAY = date(2025, 11, 8)


def forecast(wind_from_deg: float, speed_mps: float = 4.0, hours: int = 72) -> WeatherImport:
    found = tuple(
        weather_hour(
            instant=NOW + timedelta(hours=number),
            wind_from_deg=wind_from_deg,
            speed_mps=speed_mps,
            cloud_fraction=0.2,
            source="test",
        )
        for number in range(hours)
    )
    return WeatherImport(hours=found, skipped=(), read=hours, issued_at=NOW)


def map_bedding(land, *, east_of: float, name: str = "Cedar bench"):
    return create_feature(
        actor=system_actor("test"),
        land=land,
        fields={
            "kind": "bedding",
            "name": name,
            "geometry": square(land.longitude + east_of, land.latitude - 0.001, 0.002),
        },
        now=NOW,
    )


def store(land, wind_from_deg: float):
    return services.store_forecast(
        actor=system_actor("test"),
        land=land,
        found=forecast(wind_from_deg),
        source="test",
        now=NOW,
    )


def compute(land, first_on=SATURDAY, last_on=SATURDAY):
    return fit_services.compute_fits(land=land, first_on=first_on, last_on=last_on, now=NOW)


@pytest.fixture
def blind(cast):
    map_bedding(cast.north, east_of=0.002)
    return make_stand(cast.north, "Low blind", kind="ground_blind", seat_height_m=1, cover="open")


def test_a_blind_upwind_of_bedding_is_unfit_and_the_bedding_and_its_hour_are_named(cast, blind):
    store(cast.north, 270)

    done = compute(cast.north)

    assert (done.computed, done.sessions, done.stands) == (2, 2, 1)
    evening = SessionFit.objects.get(kind=SessionKind.EVENING)
    assert evening.verdict == "unfit"
    assert not evening.fits
    assert "Cedar bench" in evening.main_reason
    assert evening.sector_per_mille.index(max(evening.sector_per_mille)) == 6
    assert sum(evening.sector_per_mille) == 1000
    assert evening.detail["hours"][0]["starts_at"].startswith("2025-11-08T")


def test_the_same_blind_is_fit_on_the_opposite_wind(cast, blind):
    store(cast.north, 90)
    compute(cast.north)

    assert SessionFit.objects.get(kind=SessionKind.EVENING).verdict == "fit"


def test_fits_that_stand_are_read_and_not_computed_again(cast, blind):
    store(cast.north, 90)
    compute(cast.north)
    before = set(SessionFit.objects.values_list("id", "computed_at"))

    again = compute(cast.north)

    assert (again.computed, again.unchanged) == (0, 2)
    assert set(SessionFit.objects.values_list("id", "computed_at")) == before


def test_fits_computed_in_small_batches_are_all_there_and_computed_once(cast, monkeypatch):
    monkeypatch.setattr(fit_services, "BATCH_STANDS", 2)
    map_bedding(cast.north, east_of=0.002)
    for number in range(5):
        make_stand(cast.north, f"Stand {number}", longitude=cast.north.longitude - number * 1e-4)
    store(cast.north, 270)

    done = compute(cast.north)

    assert (done.computed, done.unchanged) == (10, 0)
    assert SessionFit.objects.values("stand").distinct().count() == 5
    assert (compute(cast.north).computed, SessionFit.objects.count()) == (0, 10)


def test_a_changed_map_makes_the_fit_anew_and_keeps_one_row_a_session(cast, blind):
    store(cast.north, 90)
    compute(cast.north)
    map_bedding(cast.north, east_of=-0.005, name="West bench")

    again = compute(cast.north)

    assert again.computed == 2
    assert SessionFit.objects.count() == 2
    assert SessionFit.objects.get(kind=SessionKind.EVENING).verdict == "unfit"


def test_an_evening_that_the_forecast_does_not_reach_is_unknown_not_calm(cast, blind):
    services.store_forecast(
        actor=system_actor("test"),
        land=cast.north,
        found=forecast(90, hours=30),
        source="test",
        now=NOW,
    )
    compute(cast.north)

    evening = SessionFit.objects.get(kind=SessionKind.EVENING)
    assert (evening.verdict, evening.fit, evening.fits) == ("unknown", None, False)
    assert evening.main_reason == BEYOND_FORECAST


def test_the_same_forecast_sent_twice_is_one_issue(cast):
    first, again = store(cast.north, 270), store(cast.north, 270)

    assert (first.is_new, again.is_new) == (True, False)
    assert first.issue.id == again.issue.id


def test_what_was_known_at_an_earlier_instant_can_be_asked_later(cast):
    early = store(cast.north, 270).issue
    late = services.store_forecast(
        actor=system_actor("test"),
        land=cast.north,
        found=forecast(90),
        source="test",
        now=NOW + timedelta(hours=6),
    ).issue

    known = fit_services.latest_issue
    assert known(cast.north, known_at=NOW + timedelta(hours=1)) == early
    assert known(cast.north, known_at=NOW + timedelta(hours=7)) == late


def test_a_forecast_that_arrives_queues_one_computation_for_many_causes(cast, blind):
    store(cast.north, 270)
    store(cast.north, 90)
    outbox.drain(now=NOW + timedelta(minutes=1))

    (run,) = JobRun.objects.filter(name=wind_jobs.COMPUTE_FITS, property_id=cast.north.id)
    jobs.run_job(run_id=run.id, now=NOW + timedelta(minutes=1))

    run.refresh_from_db()
    assert run.state == JobState.DONE, run.error
    assert run.result["computed"] == SessionFit.objects.count() > 0


def test_a_member_asks_where_to_sit_on_saturday_evening(cast, blind):
    store(cast.north, 270)
    compute(cast.north)

    answer = cast.client(cast.member).get(
        f"/api/v1/fits/?property={cast.north.id}&local_date=2025-11-08&kind=evening"
    )

    (row,) = answer.data["results"]
    assert (row["stand_name"], row["verdict"]) == ("Low blind", "unfit")
    detail = cast.client(cast.member).get(f"/api/v1/fits/{row['id']}/").data
    assert detail["detail"]["reasons"][0]["feature"] == "Cedar bench"


def test_an_outfitters_app_gets_the_verdict_and_not_the_map(cast, blind):
    store(cast.north, 270)
    compute(cast.north)
    client = cast.application_client()

    row = client.get("/api/v1/fits/?kind=evening").data["results"][0]
    detail = client.get(f"/api/v1/fits/{row['id']}/").data

    assert row["verdict"] == "unfit"
    assert "Cedar bench" not in str(row) + str(detail)


def test_a_stranger_sees_no_fit_and_cannot_ask_for_one(cast, blind):
    store(cast.north, 270)
    compute(cast.north)
    fit = SessionFit.objects.first()
    client = cast.client(cast.stranger)

    assert client.get("/api/v1/fits/").data["results"] == []
    assert client.get(f"/api/v1/fits/?property={cast.north.id}").data["results"] == []
    assert client.get(f"/api/v1/fits/{fit.id}/").status_code == 404
    assert (
        client.post(
            "/api/v1/fits/recompute/", {"property": str(cast.north.id)}, format="json"
        ).status_code
        == 400
    )


def test_hours_told_by_hand_are_kept_and_impossible_ones_named(cast):
    answer = cast.client(cast.manager).post(
        "/api/v1/forecasts/",
        {
            "property": str(cast.north.id),
            "source": "own station",
            "hours": [
                {"starts_at": "2025-11-08T20:00:00Z", "wind_from_deg": 315, "speed_mps": 3.6},
                {"starts_at": "2025-11-08T21:00:00Z", "wind_from_deg": 10, "speed_mps": 468.6},
            ],
        },
        format="json",
    )

    assert answer.status_code == 201, answer.data
    assert (answer.data["read"], answer.data["taken"]) == (2, 1)
    (skipped,) = answer.data["skipped"]
    assert skipped["place"] == "#/hours/1"
    assert ForecastIssue.objects.get().hours["speed_mps"] == [3.6]


def test_a_file_that_is_no_forecast_is_refused_and_nothing_is_kept(cast):
    from django.core.files.uploadedfile import SimpleUploadedFile

    answer = cast.client(cast.manager).post(
        "/api/v1/forecasts/",
        {
            "property": str(cast.north.id),
            "format": "gridpoint",
            "file": SimpleUploadedFile("f.json", b'{"properties": {}}'),
        },
        format="multipart",
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/file"
    assert not ForecastIssue.objects.exists()


def test_the_list_of_fits_asks_the_database_no_more_for_many_stands(
    cast, django_assert_max_num_queries
):
    map_bedding(cast.north, east_of=0.002)
    for number in range(12):
        make_stand(cast.north, f"Stand {number}", longitude=cast.north.longitude - number * 1e-4)
    store(cast.north, 270)
    compute(cast.north)
    client = cast.client(cast.member)

    with django_assert_max_num_queries(9):
        answer = client.get("/api/v1/fits/")

    assert len(answer.data["results"]) == 24

"""From what was felt at stands and what was observed or forecast, to the stands' own wind."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from properties.land import settings as layered_settings
from properties.wind import evidence, fit_services, services
from properties.wind import jobs as wind_jobs
from properties.wind.evidence import WindReport
from properties.wind.learning_services import learn_stand_winds
from properties.wind.models import SessionFit, StandWind
from properties.wind.stand_wind_queries import local_winds, observed_columns
from properties.wind.weather_hours import WeatherImport, weather_hour
from tests.cast import make_stand
from tests.properties.wind.test_fits_from_the_map import NOW, SATURDAY, map_bedding, store

MORNING = datetime(2025, 10, 4, 13, tzinfo=UTC)


def observe(land, instant, wind_from_deg, speed_mps=4.0, source="station"):
    hour = weather_hour(
        instant=instant, wind_from_deg=wind_from_deg, speed_mps=speed_mps, source=source
    )
    return services.store_observations(
        actor=system_actor("test"), land=land, hours=[hour], source=source, now=instant
    )


def forecast_of(land, instant, wind_from_deg, *, received_at):
    found = WeatherImport(
        hours=(
            weather_hour(
                instant=instant, wind_from_deg=wind_from_deg, speed_mps=4.0, source="test"
            ),
        ),
        skipped=(),
        read=1,
        issued_at=received_at,
    )
    return services.store_forecast(
        actor=system_actor("test"), land=land, found=found, source="test", now=received_at
    )


@pytest.fixture
def felt(cast, monkeypatch):
    """Reports that a floor above tells: call it to add one for a stand."""
    reports: list[WindReport] = []
    monkeypatch.setattr(evidence, "_wind_reports", [lambda _land: reports])

    def add(stand, felt_at, from_deg, sit_id=None):
        reports.append(
            WindReport(
                sit_id=sit_id or uuid4(), stand_id=stand.id, felt_at=felt_at, from_deg=from_deg
            )
        )

    return add


def learn_many(cast, felt, stand, *, turned_by=30.0, sits=24):
    for number in range(sits):
        instant = MORNING + timedelta(days=number)
        observe(cast.north, instant, 270.0)
        felt(stand, instant + timedelta(minutes=10), 270.0 + turned_by)
    return learn_stand_winds(land=cast.north, now=NOW)


def test_a_stand_that_turns_the_west_wind_is_learned_from_its_reports(cast, felt):
    stand = make_stand(cast.north, "Saddle")

    learned = learn_many(cast, felt, stand)

    row = StandWind.objects.get()
    # 24 unit vectors at 30° beside 6·e^(−σ₀²/2) = 5.942 at 0°: atan(12 / 26.727), in tenths.
    assert row.offset_deg[6] == pytest.approx(24.18, abs=0.05)
    assert row.offset_deg[2] == 0.0
    assert (row.reports, row.counts[6], row.holds) == (24, 24, True)
    assert (learned.reports, learned.used, learned.changed) == (24, 24, 1)


def test_a_stand_nobody_reported_from_has_no_offset_and_the_spread_of_the_settings(cast):
    stand = make_stand(cast.north, "Saddle")
    cast.north.settings = {"stand_wind": {"prior_spread_deg": 11.0}}
    assert not layered_settings.faults(cast.north.settings)

    wind = local_winds(cast.north, [stand])[stand.id]

    assert (wind.offset_deg, wind.spread_deg) == ((0.0,) * 8, (11.0,) * 8)


def test_light_wind_and_hours_without_any_wind_teach_nothing_and_are_counted(cast, felt):
    stand = make_stand(cast.north, "Saddle")
    observe(cast.north, MORNING, 270.0, speed_mps=1.0)
    felt(stand, MORNING, 90.0)
    felt(stand, MORNING + timedelta(days=9), 90.0)

    learned = learn_stand_winds(land=cast.north, now=NOW)

    assert (learned.used, learned.in_light_wind, learned.without_weather) == (0, 1, 1)
    assert not StandWind.objects.exists()


def test_an_observation_goes_before_the_forecast_of_the_same_hour(cast, felt):
    stand = make_stand(cast.north, "Saddle")
    forecast_of(cast.north, MORNING, 90.0, received_at=MORNING - timedelta(hours=3))
    observe(cast.north, MORNING, 270.0)
    felt(stand, MORNING, 290.0)

    learn_stand_winds(land=cast.north, now=NOW)

    row = StandWind.objects.get()
    assert row.counts[6] == 1
    assert row.offset_deg[6] > 0


def test_a_forecast_received_after_the_hour_is_not_what_was_expected_in_it(cast, felt):
    stand = make_stand(cast.north, "Saddle")
    forecast_of(cast.north, MORNING, 90.0, received_at=MORNING - timedelta(hours=3))
    forecast_of(cast.north, MORNING, 270.0, received_at=MORNING + timedelta(hours=3))
    felt(stand, MORNING + timedelta(minutes=30), 100.0)

    learn_stand_winds(land=cast.north, now=NOW)

    assert StandWind.objects.get().counts[2] == 1


def test_of_several_sources_the_observation_nearest_to_the_hour_counts(cast):
    observe(cast.north, MORNING - timedelta(minutes=7), 270.0, source="airport")
    observe(cast.north, MORNING + timedelta(minutes=20), 90.0, source="own station")

    columns = observed_columns(
        cast.north, since=MORNING - timedelta(hours=1), until=MORNING + timedelta(hours=1)
    )

    assert columns.starts_at == (MORNING,)
    assert columns.numbers["wind_from_deg"] == (270.0,)


def test_reports_on_another_property_teach_nothing_here(cast, felt):
    felt(make_stand(cast.south, "Elsewhere"), MORNING, 90.0)
    observe(cast.north, MORNING, 270.0)

    assert learn_stand_winds(land=cast.north, now=NOW).reports == 0


def test_learning_twice_changes_nothing_the_second_time(cast, felt):
    stand = make_stand(cast.north, "Saddle")
    learn_many(cast, felt, stand)
    before = StandWind.objects.get().learned_at

    again = learn_stand_winds(land=cast.north, now=NOW + timedelta(days=1))

    assert again.changed == 0
    assert StandWind.objects.get().learned_at == before


def test_a_learned_turn_moves_the_fit_and_makes_it_anew(cast, felt):
    map_bedding(cast.north, east_of=0.002)
    stand = make_stand(cast.north, "Blind", kind="ground_blind", seat_height_m=1, cover="open")
    store(cast.north, 270.0)
    fit_services.compute_fits(land=cast.north, first_on=SATURDAY, last_on=SATURDAY, now=NOW)
    before = SessionFit.objects.get(kind="evening").fit
    learn_many(cast, felt, stand, turned_by=90.0, sits=60)

    again = fit_services.compute_fits(land=cast.north, first_on=SATURDAY, last_on=SATURDAY, now=NOW)

    # Learned to come from the north-west there, scent passes south of the bedding.
    assert again.computed == 2
    assert SessionFit.objects.get(kind="evening").fit > before + 0.2


def test_the_job_learns_and_asks_for_fits_only_where_something_changed(cast, felt):
    stand = make_stand(cast.north, "Saddle")
    observe(cast.north, MORNING, 270.0)
    felt(stand, MORNING, 300.0)

    for hours in (1, 2):
        now = NOW + timedelta(hours=hours)
        run = wind_jobs.queue_learning_of(property_id=cast.north.id, now=now)
        done = jobs.run_job(run_id=run.id, now=now)
        assert done.state == JobState.DONE, done.error

    assert JobRun.objects.filter(name=wind_jobs.COMPUTE_FITS).count() == 1


def test_members_see_how_the_wind_behaves_at_a_stand_and_strangers_do_not(cast, felt):
    stand = make_stand(cast.north, "Bowl")
    for number in range(12):
        instant = MORNING + timedelta(days=number)
        observe(cast.north, instant, 270.0)
        felt(stand, instant, 30.0 * number)
    learn_stand_winds(land=cast.north, now=NOW)

    url = f"/api/v1/stand-winds/?property={cast.north.id}"
    (row,) = cast.client(cast.member).get(url).data["results"]

    assert (row["stand_name"], row["holds"], row["reports"]) == ("Bowl", False, 12)
    assert "does not hold" in row["summary"]
    assert "12 sits" in row["summary"]
    assert "sigma" not in str(row).lower()
    west = row["sectors"][6]
    assert (west["sector"], west["reports"], west["holds"]) == ("W", 12, False)
    assert cast.client(cast.stranger).get(url).data["results"] == []


def test_a_manager_starts_learning_and_a_member_may_not(cast):
    body = {"property": str(cast.north.id)}

    answer = cast.client(cast.manager).post("/api/v1/stand-winds/learn/", body, format="json")

    assert answer.status_code == 202
    assert JobRun.objects.get(id=answer.data["job"]).name == wind_jobs.LEARN
    refused = cast.client(cast.member).post("/api/v1/stand-winds/learn/", body, format="json")
    assert refused.status_code == 403

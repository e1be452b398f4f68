"""Past seasons of a property: which days count, what is stored, who may see it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from properties.sessions.models import Season
from properties.wind import history_services, services
from properties.wind import jobs as wind_jobs
from properties.wind.models import WindHistory
from properties.wind.weather_hours import weather_hour
from tests.cast import make_stand
from tests.properties.wind.test_fits_from_the_map import NOW, map_bedding

TODAY = date(2025, 11, 7)
FIRST = date(2024, 11, 1)
DAYS = 6


@pytest.fixture
def season(cast):
    return Season.objects.create(
        property=cast.north,
        name="Bow",
        first_on=FIRST,
        last_on=FIRST + timedelta(days=DAYS - 1),
        weapons=["bow"],
    )


def observe(land, *, days=DAYS, wind_from_deg=270.0):
    start = datetime(2024, 11, 1, tzinfo=UTC)
    hours = [
        weather_hour(
            instant=start + timedelta(hours=number),
            wind_from_deg=wind_from_deg,
            speed_mps=4.0,
            source="station",
        )
        for number in range(24 * days + 12)
    ]
    services.store_observations(
        actor=system_actor("test"), land=land, hours=hours, source="station", now=NOW
    )


@pytest.fixture
def blind(cast):
    map_bedding(cast.north, east_of=0.002)
    return make_stand(cast.north, "Low blind", kind="ground_blind", seat_height_m=1, cover="open")


def sum_up(land, today=TODAY, now=NOW):
    return history_services.sum_up_season(land=land, season_year=2024, today=today, now=now)


def test_a_season_of_west_wind_leaves_a_gap_where_the_only_blind_lies_west_of_bedding(
    cast, season, blind
):
    observe(cast.north)

    result = sum_up(cast.north).history.result

    assert (result["sessions"], result["unobserved_sessions"]) == (2 * DAYS, 0)
    assert result["gaps"] == ["W"]
    (table,) = result["stands"]
    assert table["huntable_share"] == 0.0
    assert table["rows"][6]["cells"][2]["sessions"] == 2 * DAYS


def test_the_same_blind_holds_the_east_wind(cast, season, blind):
    observe(cast.north, wind_from_deg=90.0)

    result = sum_up(cast.north).history.result

    assert result["gaps"] == []
    assert result["stands"][0]["huntable_share"] == 1.0


def test_days_without_observation_are_unknown_and_in_no_share(cast, season, blind):
    observe(cast.north, days=3, wind_from_deg=90.0)

    result = sum_up(cast.north).history.result

    assert result["observed_sessions"] + result["unobserved_sessions"] == 2 * DAYS
    assert result["unobserved_sessions"] >= 4
    assert result["stands"][0]["sessions"] <= result["observed_sessions"]
    assert result["stands"][0]["huntable_share"] == 1.0


def test_days_to_come_are_no_history(cast, season, blind):
    observe(cast.north)

    result = sum_up(cast.north, today=FIRST + timedelta(days=2)).history.result

    assert result["sessions"] == 4
    with pytest.raises(history_services.NoSeason):
        sum_up(cast.north, today=FIRST)


def test_january_belongs_to_the_season_of_the_autumn_before(cast, season):
    Season.objects.create(
        property=cast.north,
        name="Late",
        first_on=date(2025, 1, 3),
        last_on=date(2025, 1, 4),
        weapons=["bow"],
    )

    days = history_services.season_days(cast.north, 2024, before=TODAY)

    assert (days[0], days[-1], len(days)) == (FIRST, date(2025, 1, 4), DAYS + 2)
    assert history_services.season_days(cast.north, 2025, before=TODAY) == []


def test_a_history_that_stands_is_not_computed_again_and_a_new_stand_makes_it_anew(
    cast, season, blind
):
    observe(cast.north)
    sum_up(cast.north)

    assert not sum_up(cast.north, now=NOW + timedelta(days=1)).is_new
    make_stand(cast.north, "Second", longitude=cast.north.longitude - 0.003)
    again = sum_up(cast.north)

    assert again.is_new
    assert [each["name"] for each in again.history.result["stands"]] == ["Low blind", "Second"]
    assert WindHistory.objects.count() == 1


def test_the_schedule_asks_once_a_week_for_the_running_season(cast):
    monday = datetime(2025, 11, 10, 18, tzinfo=UTC)

    due = [each for day in range(7) for each in wind_jobs.histories_due(monday + timedelta(day))]
    north = [each for each in due if each.property_id == cast.north.id]

    assert {each.period for each in north} == {"2025-W46"}
    assert {each.parameters["season_year"] for each in north} == {2025}


def test_a_manager_asks_for_a_season_and_a_member_reads_it_with_its_picture(cast, season, blind):
    observe(cast.north)
    body = {"property": str(cast.north.id), "season_year": 2024}
    started = cast.client(cast.manager).post("/api/v1/wind-histories/sum-up/", body, format="json")
    run = JobRun.objects.get(id=started.data["job"])
    done = jobs.run_job(run_id=run.id, now=run.due_at)
    assert done.state == JobState.DONE, done.error
    assert done.result["gaps"] == ["W"]

    member = cast.client(cast.member)
    (row,) = member.get(f"/api/v1/wind-histories/?property={cast.north.id}").data["results"]
    one = member.get(f"/api/v1/wind-histories/{row['id']}/").data
    url = f"/api/v1/wind-histories/{row['id']}/picture/"
    picture = member.get(f"{url}?stand={blind.id}", headers={"accept": "image/svg+xml"})

    assert row["gaps"] == ["W"]
    assert "stands" not in row
    assert one["stands"][0]["name"] == "Low blind"
    assert picture.status_code == 200
    assert picture["Content-Type"].startswith("image/svg+xml")
    assert picture.content.startswith(b"<svg")
    assert b"Low blind" in picture.content
    assert member.get(f"{url}?stand={cast.north.id}").status_code == 404
    assert member.get(f"{url}?stand=nonsense").status_code == 404


def test_a_stranger_sees_no_history_and_a_member_starts_none(cast, season, blind):
    observe(cast.north)
    history = sum_up(cast.north).history
    stranger = cast.client(cast.stranger)
    body = {"property": str(cast.north.id), "season_year": 2024}

    assert stranger.get("/api/v1/wind-histories/").data["results"] == []
    assert stranger.get(f"/api/v1/wind-histories/{history.id}/").status_code == 404
    url = f"/api/v1/wind-histories/{history.id}/picture/?stand={blind.id}"
    assert stranger.get(url).status_code == 404
    for person, status in ((cast.stranger, 400), (cast.member, 403)):
        answer = cast.client(person).post("/api/v1/wind-histories/sum-up/", body, format="json")
        assert answer.status_code == status


def test_a_year_without_a_season_is_no_failure_of_the_job(cast):
    run = wind_jobs.queue_history_of(property_id=cast.north.id, season_year=2019, now=NOW)
    done = jobs.run_job(run_id=run.id, now=NOW)

    assert (done.state, done.result["history"]) == (JobState.DONE, None)


def test_the_command_ends_with_sessions_and_gaps(cast, season, blind, capsys):
    observe(cast.north)

    call_command("windhistory", property="North", season=2024)

    told = capsys.readouterr().out
    assert f"{2 * DAYS} sessions = {2 * DAYS} observed + 0 not observed" in told
    assert "no huntable stand for wind from: W." in told
    with pytest.raises(CommandError):
        call_command("windhistory", property="North", season=2019)

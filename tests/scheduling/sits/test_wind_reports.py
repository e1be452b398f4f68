"""What reported sits tell the room of wind."""

from datetime import timedelta

import pytest

from coop.jobs.models import JobRun
from properties.sessions.kinds import SessionKind
from properties.wind import jobs as wind_jobs
from properties.wind.evidence import sit_outcomes_of, wind_reports_of
from scheduling.sits.report_services import report_sit
from scheduling.sits.wind_reports_queries import sit_outcomes, wind_reports
from tests.scheduling.sits.stage import booked, facts_handled, sat


def reported(stage, *, fields=None, alarms=(), **booking):
    sit = sat(stage, booked(stage, **booking))
    report_sit(
        actor=stage.cast.actor(sit.person),
        sit=sit,
        fields=fields or {},
        alarms=alarms,
        now=sit.ends_at,
    )
    sit.refresh_from_db()
    return sit


def test_each_quarter_tells_its_wind_at_the_middle_of_its_time(stage):
    quarters = [
        {"quarter": 1, "from_deg": 350.0, "speed_mps": 2.0},
        {"quarter": 3, "from_deg": 80.0, "speed_mps": 0.0},
        {"quarter": 4, "from_deg": 20.0, "speed_mps": 3.0},
    ]
    sit = reported(stage, fields={"wind_felt_quarters": quarters})

    first, last = wind_reports(stage.cast.north)

    length = sit.checked_out_at - sit.checked_in_at
    assert (first.from_deg, last.from_deg) == (350.0, 20.0)
    assert first.felt_at == sit.checked_in_at + length / 8
    assert last.felt_at == sit.checked_in_at + length * 7 / 8
    assert {first.stand_id, last.stand_id} == {stage.oak.id}
    assert {first.sit_id, last.sit_id} == {sit.id}


def test_a_wind_told_for_the_whole_sit_counts_at_its_middle(stage):
    sit = reported(stage, fields={"wind_felt_from_deg": 200.0, "wind_felt_speed_mps": 2.0})

    (report,) = wind_reports(stage.cast.north)

    middle = sit.checked_in_at + (sit.checked_out_at - sit.checked_in_at) / 2
    assert abs(report.felt_at - middle) < timedelta(seconds=1)


def test_an_outcome_keeps_what_was_forecast_and_counts_winded_deer_apart(stage):
    alarms = [
        {"sense": "winded", "count": 2},
        {"sense": "saw", "count": 1},
        {"sense": "unknown", "count": 1},
    ]
    sit = reported(stage, alarms=alarms)

    (outcome,) = sit_outcomes(stage.cast.north)

    assert (outcome.winded, outcome.alarmed) == (2, 4)
    assert outcome.fit == pytest.approx(0.9)
    assert (outcome.local_date, outcome.kind) == (sit.local_date, SessionKind.EVENING)


def test_sits_of_another_property_are_not_told(stage):
    reported(stage, fields={"wind_felt_from_deg": 200.0, "wind_felt_speed_mps": 2.0})

    assert list(wind_reports(stage.cast.south)) == []
    assert list(sit_outcomes(stage.cast.south)) == []


def test_the_room_of_wind_asks_here_and_learns_when_a_sit_is_reported(stage):
    fields = {"wind_felt_from_deg": 200.0, "wind_felt_speed_mps": 2.0}
    sit = reported(stage, fields=fields)
    facts_handled(sit.ends_at)

    assert [report.sit_id for report in wind_reports_of(stage.cast.north)] == [sit.id]
    assert [outcome.sit_id for outcome in sit_outcomes_of(stage.cast.north)] == [sit.id]
    assert JobRun.objects.filter(name=wind_jobs.LEARN, property_id=stage.cast.north.id).exists()


def test_the_questions_asked_of_the_database_do_not_grow_with_the_sits(
    stage, django_assert_max_num_queries
):
    for stand in (stage.oak, stage.creek):
        person = stage.ben if stand is stage.creek else stage.cast.member
        reported(stage, person=person, stand=stand, alarms=[{"sense": "winded", "count": 1}])

    with django_assert_max_num_queries(2):
        assert len(list(sit_outcomes(stage.cast.north))) == 2

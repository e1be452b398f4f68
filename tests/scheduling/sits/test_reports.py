"""Reports of sits: deer, wind, alarms, an unsafe stand, harvest against the plan."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact, Message
from scheduling.sits.facts_queries import sit_facts
from scheduling.sits.harvest_services import record_harvest
from scheduling.sits.models import Harvest, HarvestPlan, Sit
from scheduling.sits.report_services import correct_report, report_sit
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, facts_handled, sat


def reported(stage, sit=None, **more):
    sit = sit or sat(stage, booked(stage))
    return report_sit(
        actor=stage.cast.actor(sit.person),
        sit=sit,
        fields=more.pop("fields", {}),
        now=sit.ends_at,
        **more,
    )


def test_a_report_keeps_deer_alarms_and_the_wind_by_quarter(stage):
    report = reported(
        stage,
        fields={
            "wind_felt_quarters": [
                {"quarter": 1, "from_deg": 350, "speed_mps": 2.0},
                {"quarter": 2, "from_deg": 10, "speed_mps": 2.0},
            ]
        },
        sightings=[{"sex": "doe", "age_class": "adult", "count": 2}, {"count": 1}],
        alarms=[{"sense": "winded", "count": 2, "distance_m": 60.0}, {"sense": "saw", "count": 1}],
    )

    assert report.deer_alarmed == 3
    # The mean of 350° and 10° is north, not south.
    assert report.wind_felt_from_deg % 360 == pytest.approx(0, abs=1e-6) or (
        report.wind_felt_from_deg == pytest.approx(360, abs=1e-6)
    )
    assert sorted(report.sightings.values_list("sex", "count")) == [("doe", 2), ("unknown", 1)]
    assert report.sit.observed_sector == 0


def test_a_disturbing_sit_makes_the_stand_rest_longer_and_a_clean_one_shorter(stage):
    sit = sat(stage, booked(stage))
    rest_unreported = _rest_asked(stage)
    report = reported(stage, sit, alarms=[{"sense": "winded", "count": 1}])
    rest_disturbed = _rest_asked(stage)
    report.deer_alarmed = 0
    report.save()

    # Three days by the settings; two more after a disturbance, one less after a clean sit.
    assert (rest_unreported, rest_disturbed, _rest_asked(stage)) == (None, 5, 2)


def _rest_asked(stage):
    facts = sit_facts(lands=[stage.cast.north], first_on=DAY, last_on=DAY, person_ids=[], now=NOW)
    (use,) = facts.booking.uses
    return use.rest_days


def test_an_unsafe_stand_closes_at_once_and_its_coming_sits_and_managers_are_told(stage):
    sit = sat(stage, booked(stage))
    coming = booked(stage, stage.ben, day=DAY + timedelta(days=4), now=NOW)

    reported(stage, sit, fields={"stand_unsafe": True, "stand_condition": "Strap torn"})

    stage.oak.refresh_from_db()
    assert not stage.oak.is_open
    assert "Strap torn" in stage.oak.closed_reason
    facts_handled(sit.ends_at)
    coming.refresh_from_db()
    assert coming.state == "cancelled"
    told = set(Message.objects.values_list("recipient", flat=True))
    assert told == {stage.ben.email, stage.cast.manager.email}


def plan(stage, planned):
    return HarvestPlan.objects.create(
        property=stage.cast.north, season_year=2025, harvest_class="antlerless", planned=planned
    )


def test_a_harvest_over_the_plan_is_recorded_and_raises_one_notice(stage):
    plan(stage, 1)
    sit = sat(stage, booked(stage))

    reported(stage, sit, fields={"shots": 2}, harvests=[{"harvest_class": "antlerless"}] * 2)

    assert Harvest.objects.filter(sit=sit, person=sit.person).count() == 2
    message = Message.objects.get()
    assert message.recipient == stage.cast.manager.email
    assert "2 antlerless taken, 1 planned" in message.subject
    assert Fact.objects.filter(topic="harvest.over_plan").count() == 1


def test_a_harvest_within_the_plan_or_of_another_season_raises_none(stage):
    plan(stage, 1)
    mia = stage.cast.actor(stage.cast.member)
    for taken_at in (NOW, NOW - timedelta(days=365)):
        record_harvest(
            actor=mia,
            land=stage.cast.north,
            person=None,
            sit=None,
            fields={"harvest_class": "antlerless", "taken_at": taken_at},
            now=NOW,
        )

    assert Harvest.objects.count() == 2
    assert not Message.objects.exists()


def test_a_member_records_their_own_deer_and_a_manager_anybodys(stage):
    fields = {"harvest_class": "antlered", "taken_at": NOW}
    asked = {"land": stage.cast.north, "sit": None, "fields": fields, "now": NOW}

    with pytest.raises(PermissionDenied):
        record_harvest(actor=stage.cast.actor(stage.cast.member), person=stage.ben, **asked)
    harvest = record_harvest(actor=stage.cast.actor(stage.cast.manager), person=stage.ben, **asked)
    assert harvest.person == stage.ben
    assert not Sit.objects.exists()


def corrected(stage, report, changes=None, by=None, **rows):
    return correct_report(
        actor=stage.cast.actor(by or report.sit.person),
        report=report,
        changes=changes or {},
        now=NOW + timedelta(days=9),
        **rows,
    )


def test_a_correction_counts_for_rest_wind_and_deer_as_if_it_had_been_reported(stage):
    report = reported(
        stage,
        fields={"wind_felt_from_deg": 90.0, "wind_felt_speed_mps": 2.0, "shots": 0},
        sightings=[{"count": 9}],
        alarms=[{"sense": "winded", "count": 2}],
    )
    assert (_rest_asked(stage), report.sit.observed_sector) == (5, 2)
    version = Sit.objects.get().version

    corrected(stage, report, {"wind_felt_from_deg": 180.0}, sightings=[{"count": 1}], alarms=[])

    report.refresh_from_db()
    assert (report.deer_alarmed, report.alarms.count(), _rest_asked(stage)) == (0, 0, 2)
    assert list(report.sightings.values_list("count", flat=True)) == [1]
    sit = Sit.objects.get()
    assert (sit.observed_sector, sit.version > version, sit.state) == (4, True, "reported")
    assert Fact.objects.filter(topic="sit_report.corrected").count() == 1


def test_the_record_keeps_what_was_seen_where_a_correction_replaces_it(stage):
    report = reported(
        stage,
        sightings=[{"sex": "doe", "age_class": "adult", "count": 9}],
        alarms=[{"sense": "winded", "count": 2}],
    )

    corrected(stage, report, sightings=[], alarms=[])

    event = AuditEvent.objects.filter(object_id=str(report.id)).latest("id")
    assert event.reason == "Stood before: 9 seen (doe, adult); 2 alarmed (winded)."


def quarter(number: int, from_deg: float) -> dict[str, float]:
    return {"quarter": number, "from_deg": from_deg, "speed_mps": 2.0}


def test_a_wind_of_the_whole_sit_stays_where_quarters_are_corrected(stage):
    report = reported(stage, fields={"wind_felt_from_deg": 90.0, "wind_felt_speed_mps": 3.0})

    corrected(stage, report, {"wind_felt_quarters": [quarter(1, 270.0)]})

    report.refresh_from_db()
    assert (report.wind_felt_from_deg, report.wind_felt_speed_mps) == (90.0, 3.0)


def test_a_wind_that_was_the_mean_of_the_quarters_follows_them(stage):
    report = reported(stage, fields={"wind_felt_quarters": [quarter(1, 90.0)]})
    assert report.wind_felt_from_deg == pytest.approx(90)

    corrected(stage, report, {"wind_felt_quarters": [quarter(1, 180.0)]})
    report.refresh_from_db()
    assert report.wind_felt_from_deg == pytest.approx(180)

    corrected(stage, report, {"wind_felt_quarters": []})
    report.refresh_from_db()
    assert (report.wind_felt_from_deg, report.wind_felt_speed_mps) == (None, None)


def test_a_wind_told_by_mistake_can_be_taken_back_and_counts_no_more(stage):
    report = reported(stage, fields={"wind_felt_from_deg": 90.0, "wind_felt_speed_mps": 2.0})
    assert Sit.objects.get().observed_sector == 2

    corrected(stage, report, {"wind_felt_from_deg": None, "wind_felt_speed_mps": None})

    assert Sit.objects.get().observed_sector is None


def test_what_a_correction_does_not_name_stays(stage):
    report = reported(
        stage, fields={"notes": "Quiet."}, sightings=[{"count": 2}], alarms=[{"count": 1}]
    )

    corrected(stage, report, {"shots": 1})

    report.refresh_from_db()
    assert (report.shots, report.notes, report.deer_alarmed) == (1, "Quiet.", 1)
    assert (report.sightings.count(), report.alarms.count()) == (1, 1)


def test_a_stand_called_unsafe_by_a_correction_closes_and_is_not_opened_by_another(stage):
    report = reported(stage)

    corrected(stage, report, {"stand_unsafe": True, "stand_condition": "A strap is torn"})
    stage.oak.refresh_from_db()
    closed = stage.oak.closed_reason
    corrected(stage, report, {"stand_unsafe": False})
    stage.oak.refresh_from_db()

    assert "A strap is torn" in closed
    assert stage.oak.closed_reason == closed
    assert Message.objects.filter(subject__contains="unsafe").count() == 1


def test_ones_own_report_is_corrected_by_oneself_or_a_manager_under_if_match(stage):
    report = reported(stage)
    address = f"/api/v1/sit-reports/{report.id}/"
    cast = stage.cast
    read = cast.client(cast.member).get(address)

    def asked(person, **headers):
        return cast.client(person).patch(address, {"shots": 2}, **headers).status_code

    assert asked(stage.ben, HTTP_IF_MATCH=read["ETag"]) in (403, 404)
    assert asked(cast.member) == 428
    assert asked(cast.member, HTTP_IF_MATCH=read["ETag"]) == 200
    assert asked(cast.manager, HTTP_IF_MATCH=read["ETag"]) == 412
    assert asked(cast.manager, HTTP_IF_MATCH="*") == 200
    assert AuditEvent.objects.filter(object_id=str(report.id)).count() == 3

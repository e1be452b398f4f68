"""A manager's week ahead: what is booked, what is due, and what stands in the way."""

import csv
import io
import json
import re
from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.reports.week.gather import week_ahead
from coop.reports.week.pages import write_week_page
from coop.reports.week.tables import TABLES
from properties.land.models import Closure
from properties.land.units import UnitSystem
from properties.people.models import Paper, Person
from properties.stands.models import Stand, StandExclusion
from properties.wind.models import ForecastIssue
from scheduling.errands.models import Errand
from scheduling.sits.models import Sit
from tests.cast import NOW, make_stand, square
from tests.coop.reports.outline import Outline
from tests.scheduling.sits.stage import booked, give_fits, make_guest, make_stage

# Two days after the cast's NOW, so that the whole of it lies in the week.
DAY = date(2025, 11, 3)


@pytest.fixture
def stage(cast):
    made = make_stage(cast)
    for stand in (made.oak, made.creek, made.far):
        give_fits(stand, [date(2025, 11, 1) + timedelta(days=number) for number in range(9)])
    return made


def week(stage):
    stage.cast.north.refresh_from_db()
    return week_ahead(land=stage.cast.north, now=NOW, units=UnitSystem.METRIC)


def codes(stage):
    return [conflict.code for conflict in week(stage).conflicts]


def test_a_sit_as_booked_objects_to_nothing_and_stands_in_the_week(stage):
    booked(stage, day=DAY)
    booked(stage, stage.ben, stage.creek, day=DAY)
    figures = week(stage)

    assert figures.conflicts == ()
    assert [(sit.person, sit.stand, sit.on) for sit in figures.sits] == [
        ("Ben Second", "Creek", DAY),
        ("Mia Member", "Oak", DAY),
    ]
    assert (figures.first_on, figures.last_on) == (date(2025, 11, 1), date(2025, 11, 7))


def test_a_guest_beside_the_host_is_judged_as_a_guest(stage):
    guest = make_guest(stage.cast.member)
    booked(stage, day=DAY, guests=[guest])
    figures = week(stage)

    assert figures.conflicts == ()
    assert [(sit.standing, sit.through) for sit in figures.sits] == [
        ("guest", "Mia Member"),
        ("member", ""),
    ]
    Paper.objects.filter(person=guest).delete()
    assert codes(stage)


def test_a_sit_on_a_stand_that_was_closed_since_is_told(stage):
    booked(stage, day=DAY)
    Stand.objects.filter(id=stage.oak.id).update(is_open=False, closed_reason="Rotten rung")
    (conflict,) = week(stage).conflicts

    assert (conflict.stand, conflict.person, conflict.on) == ("Oak", "Mia Member", DAY)
    assert conflict.code == "stand_closed"
    assert "Rotten rung" in conflict.sentence


def test_sits_within_each_others_arcs_are_told_from_both_sides(stage):
    booked(stage, day=DAY)
    booked(stage, stage.ben, stage.creek, day=DAY)
    StandExclusion.objects.create(first=stage.oak, second=stage.creek, reason="Line of fire")
    told = {(conflict.stand, conflict.code) for conflict in week(stage).conflicts}

    assert {stand for stand, _code in told} == {"Creek", "Oak"}
    assert len({code for _stand, code in told}) == 1


def test_an_inspection_that_lapses_before_a_sit_is_told_twice_over(stage):
    booked(stage, day=DAY)
    first = week(stage)
    days = first.settings_used["house_rules"]["inspection_interval_days"]
    Stand.objects.filter(id=stage.oak.id).update(
        last_inspected_on=date(2025, 11, 2) - timedelta(days=days)
    )
    second = week(stage)

    assert first.inspections == ()
    (lapsing,) = second.inspections
    assert (lapsing.stand, lapsing.lapses_on, lapsing.sits_after) == ("Oak", DAY, 1)
    assert [conflict.code for conflict in second.conflicts] == ["inspection_expired"]


def test_closed_ground_a_paper_run_out_and_a_wind_that_turned_are_told(stage):
    booked(stage, day=DAY)
    Closure.objects.create(
        property=stage.cast.north, first_on=DAY, last_on=DAY, reason="Logging, ring 608-555-0142"
    )
    Paper.objects.filter(person=stage.cast.member, kind="licence").update(
        expires_on=date(2025, 11, 2)
    )
    give_fits(stage.oak, [DAY], fit=0.1, worst_place=0.9, fits=False, verdict="unfit")
    figures = week(stage)

    assert len({conflict.code for conflict in figures.conflicts}) >= 3
    assert figures.closures[0].first_on == DAY
    assert "608-555" not in figures.closures[0].reason


def test_what_a_manager_set_aside_is_not_told_again(stage):
    sit = booked(stage, day=DAY)
    give_fits(stage.oak, [DAY], fit=0.4, fits=False, verdict="unfit")
    before = codes(stage)
    Sit.objects.filter(id=sit.id).update(overrule_reason="Walks in by the creek")

    assert len(before) == 1
    assert codes(stage) == []


def test_a_page_without_conflicts_says_how_many_objections_were_set_aside(stage):
    sit = booked(stage, day=DAY)
    clear = write_week_page(week(stage), units="us")
    give_fits(stage.oak, [DAY], fit=0.4, fits=False, verdict="unfit")
    Sit.objects.filter(id=sit.id).update(overrule_reason="Walks in by the creek")
    figures = week(stage)
    page = write_week_page(figures, units="us")

    assert "No house rule objects to a booked sit, and no advised work meets one." in clear
    assert figures.as_dict()["set_aside"] == 1
    assert (
        "No house rule objects to a booked sit, but for 1 objection that a manager set aside, "
        "and no advised work meets one."
    ) in page
    assert "stands in the way but 1 objection that a manager set aside." in page


def test_two_who_share_a_stand_that_should_rest_are_told_once_and_do_not_excuse_each_other(stage):
    first = booked(stage, day=DAY)
    booked(stage, stage.ben, stage.oak, day=DAY)
    assert codes(stage) == []

    before = booked(stage, stage.ben, stage.creek, day=DAY - timedelta(days=1))
    Sit.objects.filter(id=before.id).update(stand=stage.oak)
    told = week(stage).conflicts

    assert [(one.code, one.person, one.on) for one in told if one.on == DAY] == [
        ("stand_resting", first.person.name, DAY)
    ]


def test_work_advised_at_the_hours_of_a_sit_is_told(stage):
    sit = booked(stage, day=DAY)
    Errand.objects.create(
        property=stage.cast.north,
        kind="trim",
        thing_id=stage.creek.id,
        stand=stage.creek,
        reason="overgrown",
        due_on=DAY,
        go_from=sit.starts_at + timedelta(hours=1),
        go_until=sit.ends_at + timedelta(hours=1),
        assignee=stage.ben,
    )
    figures = week(stage)

    assert [conflict.code for conflict in figures.conflicts] == ["errand_during_sit"]
    (errand,) = figures.errands
    assert (errand.kind, errand.thing, errand.is_overdue) == ("trim", "Creek", False)
    told = figures.as_dict()
    row, session = told["sits"][0], told["sessions"][0]
    instants = (
        *(row["comes_at"], row["gone_by"], session["starts_at"], session["ends_at"]),
        *(told["errands"][0]["go_from"], told["errands"][0]["go_until"]),
    )
    # NOW lies before the clocks go back in the night to 2 November.
    assert {instant[-6:] for instant in instants} <= {"-05:00", "-06:00"}
    Errand.objects.update(go_from=sit.ends_at, go_until=sit.ends_at + timedelta(hours=1))
    assert codes(stage) == []


def test_each_session_has_its_wind_and_the_stands_that_suit_it(stage):
    hours = [NOW + timedelta(hours=number) for number in range(60)]
    ForecastIssue.objects.create(
        property=stage.cast.north,
        source="own",
        issued_at=NOW,
        received_at=NOW,
        fingerprint="f",
        first_hour_at=hours[0],
        last_hour_at=hours[-1],
        hours={
            "starts_at": [hour.isoformat() for hour in hours],
            "wind_from_deg": [90.0] * 60,
            "speed_mps": [4.0] * 60,
            "gust_mps": [8.0] * 60,
        },
    )
    give_fits(stage.creek, [DAY], fit=0.2, fits=False, verdict="unfit")
    sessions = {(one.on, one.kind): one for one in week(stage).sessions}

    assert len(sessions) == 14
    evening = sessions[date(2025, 11, 1), "evening"]
    assert (evening.sector, evening.speed_mps, evening.gust_mps) == ("E", 4.0, 8.0)
    assert sessions[date(2025, 11, 7), "evening"].speed_mps is None
    day = sessions[DAY, "evening"]
    assert (day.known_stands, day.fit_stands, day.best_stands) == (2, 1, ("Oak",))
    Stand.objects.filter(id=stage.oak.id).update(is_open=False)
    closed = {(one.on, one.kind): one for one in week(stage).sessions}[DAY, "evening"]
    assert (closed.known_stands, closed.best_stands) == (1, ())


def test_the_number_of_queries_grows_with_no_row(stage):
    def queries():
        with CaptureQueriesContext(connection) as captured:
            week(stage)
        return len(captured)

    booked(stage, day=DAY)
    before = queries()
    booked(stage, stage.ben, stage.creek, day=DAY)
    for number in range(3):
        stand = make_stand(stage.cast.north, f"More {number}")
        Errand.objects.create(
            property=stage.cast.north,
            kind="trim",
            thing_id=stand.id,
            stand=stand,
            due_on=DAY,
            reason="overgrown",
        )

    assert queries() == before <= 40


def url(stage, part):
    return f"/api/v1/week-ahead/{stage.cast.north.id}/{part}"


@pytest.mark.parametrize("part", ["figures/", "html/", "tables/sits/"])
def test_managers_read_and_others_do_not(cast, stage, part):
    booked(stage, day=DAY)
    with time_machine.travel(NOW, tick=False):
        for person in (cast.coordinator, cast.manager):
            assert cast.client(person).get(url(stage, part)).status_code == 200
        for person in (cast.member, cast.landowner):
            assert cast.client(person).get(url(stage, part)).status_code == 403
        assert cast.client(cast.stranger).get(url(stage, part)).status_code == 404
        assert cast.application_client().get(url(stage, part)).status_code == 403


def test_what_stands_in_the_way_is_told_in_the_readers_units(cast, stage):
    booked(stage, day=DAY)
    give_fits(stage.oak, [DAY], gust_mps=12.0)
    told = {}
    with time_machine.travel(NOW, tick=False):
        for units in ("us", "metric"):
            Person.objects.filter(id=cast.manager.id).update(units=units)
            client = cast.client(cast.manager)
            page = client.get(url(stage, "html/")).content.decode()
            (conflict,) = client.get(url(stage, "figures/")).json()["conflicts"]
            assert conflict["sentence"] in page
            told[units] = conflict["sentence"]

    assert "26.8 mph" in told["us"]
    assert "12.0 m/s" in told["metric"]


def test_every_table_is_csv_and_holds_as_many_rows_as_the_figures(cast, stage):
    booked(stage, day=DAY)
    Stand.objects.filter(id=stage.oak.id).update(last_inspected_on=None)
    with time_machine.travel(NOW, tick=False):
        client = cast.client(cast.manager)
        figures = client.get(url(stage, "figures/")).json()
        for table in TABLES:
            answer = client.get(url(stage, f"tables/{table}/"))
            rows = list(csv.reader(io.StringIO(answer.content.decode())))
            assert len(rows) == len(figures[table]) + 1
            assert {len(row) for row in rows} == {len(rows[0])}
        assert client.get(url(stage, "tables/phones/")).status_code == 404


def test_the_page_states_what_it_was_made_from_and_says_nothing_of_safety(stage):
    booked(stage, day=DAY)
    words = Outline(write_week_page(week(stage), units="us")).words

    for part in (
        "1 sit is booked by 1 person.",
        "Nothing that the house rules know stands in the way.",
        "November 1, 2025 to November 7, 2025, by the clocks of America/Chicago",
        "Data up to: November 1, 2025, 12:00 PM",
        "House rules asked: ",
        "Inspection too old",
        "Settings used, house rules: inspection interval: 365 days",
        "No forecast is on record.",
        "It never says that a stand, a time or a shot is safe or lawful",
    ):
        assert part in words
    assert not re.findall(r"\w+_\w+", words)


def test_no_file_of_a_week_holds_contacts_places_papers_or_notes(cast, stage):
    booked(stage, day=DAY)
    for number, person in enumerate(Person.objects.order_by("id")):
        Person.objects.filter(id=person.id).update(phone=f"555-02{number:02d}")
    Sit.objects.update(fit=0.87654)
    with time_machine.travel(NOW, tick=False):
        client = cast.client(cast.manager)
        files = [
            client.get(url(stage, part)).content.decode()
            for part in ("figures/", "html/", *(f"tables/{name}/" for name in TABLES))
        ]
    people = list(Person.objects.all())
    never = [person.phone for person in people] + [person.email for person in people]
    never += [person.emergency_contact_name for person in people if person.emergency_contact_name]
    never += ["0.87654", "0.877"]
    never += [f"{stage.oak.longitude:.4f}", f"{stage.oak.latitude:.4f}"]
    for content in files:
        for secret in filter(None, never):
            assert secret not in content


def test_tables_of_the_page_have_captions_and_headers_and_roles_that_a_phone_keeps(stage):
    booked(stage, day=DAY)
    Stand.objects.filter(id=stage.oak.id).update(is_open=False, closed_reason="Rotten rung")
    outline = Outline(write_week_page(week(stage), units="metric"))

    assert len(outline.of("table")) == len(outline.of("caption")) == 3
    assert all(header.get("scope") in ("row", "col") for header in outline.of("th"))
    assert all("role" in cell for cell in outline.of("td"))
    ids = [one["id"] for _tag, one in outline.tags if "id" in one]
    assert len(ids) == len(set(ids))


def test_the_figures_are_plain_json(stage):
    booked(stage, day=DAY)
    told = week(stage).as_dict()

    assert json.loads(json.dumps(told)) == told
    assert told["sits"][0]["on"] == "2025-11-03"


def test_a_part_that_is_closed_is_not_told_as_all_of_the_ground(stage):
    closed = {"property": stage.cast.north, "first_on": DAY, "last_on": DAY}
    Closure.objects.create(**closed, reason="Logging", part=square(-91.5, 43.2))
    Closure.objects.create(**closed, reason="Cattle", session_kind="evening")
    Closure.objects.create(**closed, reason="Burn")

    told = [one.reason for one in week(stage).closures]

    assert told == [
        "Logging (not all of the ground, or not all day)",
        "Cattle (not all of the ground, or not all day)",
        "Burn",
    ]

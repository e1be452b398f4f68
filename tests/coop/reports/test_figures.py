"""The figures of a month, from rows alone."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.reports import sentences
from coop.reports.figures import digest_of, month_figures
from coop.reports.gather import vehicles_of
from coop.reports.rows import (
    ClosureRow,
    ContactRow,
    DueRow,
    HarvestRow,
    NoteRow,
    SeasonRow,
    SitReportRow,
    WorkRow,
)
from properties.people.models import Person
from tests.coop.reports.months import AFTER, BEGINNING
from tests.coop.reports.plain_rows import SETTINGS, month_rows, sit


def figures_of(**changes):
    return month_figures(month_rows(**changes), SETTINGS)


def test_everybody_who_checked_in_is_told_by_name_and_who_only_booked_is_not():
    who = figures_of(
        sits=(
            sit("Ann", date(2025, 10, 3)),
            sit("Ann", date(2025, 10, 4), "morning", state="checked_out"),
            sit("Hal", date(2025, 10, 4), standing="guest", through="Ann"),
            sit("Ben", date(2025, 10, 5), state="booked"),
            sit("Cal", date(2025, 10, 6), state="missed"),
        )
    ).who

    assert [(one.person, one.standing, len(one.sits)) for one in who.people] == [
        ("Ann", "member", 2),
        ("Hal", "guest", 1),
    ]
    assert (who.sits, who.days, who.guests_and_clients) == (3, 2, 1)
    assert (who.without_check_in, who.still_to_come) == (2, 0)


def test_whoever_came_to_work_was_on_the_land_too():
    who = figures_of(
        work=(
            WorkRow(kind="check_camera", local_date=date(2025, 10, 9), person="Dee"),
            WorkRow(kind="trim", local_date=date(2025, 10, 9), person="Dee"),
            WorkRow(kind="inspection", local_date=date(2025, 10, 9)),
        )
    ).who

    (dee,) = who.people
    assert (dee.person, dee.sits, dee.work_days) == ("Dee", (), (date(2025, 10, 9),))
    assert who.sits == 0


def test_an_all_day_sit_stands_in_both_halves_of_its_day_and_closed_days_are_marked():
    calendar = figures_of(
        sits=(sit("Ann", date(2025, 10, 3), "all_day"), sit("Ben", date(2025, 10, 3))),
        closures=(
            ClosureRow(first_on=date(2025, 9, 30), last_on=date(2025, 10, 1), reason="Cattle"),
        ),
    ).calendar

    assert len(calendar) == 31
    assert (calendar[2].morning, calendar[2].evening) == (1, 2)
    assert [day.on.day for day in calendar if not day.open] == [1]


def test_deer_count_against_the_plan_of_the_season_and_over_it_is_said():
    figures = figures_of(
        harvests=(
            HarvestRow(person="Ann", harvest_class="antlerless", local_date=date(2025, 9, 20)),
            HarvestRow(person="Ben", harvest_class="antlerless", local_date=date(2025, 10, 20)),
            HarvestRow(person="Cal", harvest_class="antlered", local_date=date(2025, 10, 21)),
        ),
        harvest_plan={"antlerless": 1},
    )
    antlered, antlerless = figures.deer.classes

    assert (antlerless.in_month, antlerless.in_season, antlerless.planned) == (1, 2, 1)
    assert (antlered.in_month, antlered.in_season, antlered.planned) == (1, 1, None)
    assert sentences.over_plan(figures) == [
        "Antlered: 1 this month, 1 this season; no plan is entered.",
        "Antlerless: 1 this month, 2 this season, 1 planned: 1 over the plan.",
    ]


@pytest.mark.parametrize(
    ("month", "season_year"),
    [(date(2025, 7, 1), 2025), (date(2025, 12, 1), 2025), (date(2026, 1, 1), 2025)],
)
def test_january_belongs_to_the_season_that_began_the_year_before(month, season_year):
    assert figures_of(month=month).deer.season_year == season_year


def test_hunters_reports_are_counted_and_only_managers_notes_are_told():
    incidents = figures_of(
        reports=(
            SitReportRow(
                local_date=date(2025, 10, 3),
                shots=1,
                deer_seen=4,
                tells_of_something_wrong=True,
                stand_unsafe=True,
            ),
        ),
        notes=(
            NoteRow(
                happened_on=date(2025, 10, 4),
                topic="gate",
                what="The gate stood open",
                done="Closed",
                feature="",
            ),
            NoteRow(
                happened_on=date(2025, 10, 5),
                topic="incident",
                what="Call Ann at 555-0142",
                done="",
                feature="",
            ),
        ),
    ).incidents

    assert incidents.reports_of_something_wrong == incidents.reports_of_unsafe_stands == 1
    assert incidents.notes[0].what == "The gate stood open"
    assert "555" not in incidents.notes[1].what


def test_next_dates_come_in_order_and_what_is_past_is_left_out():
    figures = figures_of(
        seasons=(
            SeasonRow(name="Archery", first_on=date(2025, 9, 13), last_on=date(2025, 11, 21)),
            SeasonRow(name="Gun deer", first_on=date(2025, 11, 22), last_on=date(2026, 1, 4)),
        ),
        closures=(
            ClosureRow(first_on=date(2025, 10, 7), last_on=date(2025, 10, 8), reason="Cattle"),
            ClosureRow(first_on=date(2025, 11, 10), last_on=date(2025, 11, 12), reason="Logging"),
        ),
        due=(
            DueRow(kind="trim", due_on=date(2025, 10, 20)),
            DueRow(kind="inspect_stand", due_on=date(2025, 11, 5)),
        ),
        sits_ahead=(
            sit("Ann", date(2025, 11, 4), state="booked"),
            sit("Ben", date(2025, 11, 9), state="booked"),
            sit("Cal", date(2025, 11, 9), state="missed"),
        ),
    )

    assert [(f"{one.on:%m-%d}", sentences.next_date(one)) for one in figures.next_dates] == [
        ("11-04", "2 sits booked, the last on Nov 9"),
        ("11-05", "Inspection of a stand"),
        ("11-10", "Closed until the end of Nov 12: Logging"),
        ("11-21", "Archery ends"),
        ("11-22", "Gun deer begins, to Jan 4"),
    ]


def test_a_month_that_runs_is_said_to_run_and_its_coming_days_are_unknown():
    figures = figures_of(now=BEGINNING, sits=(sit("Ann", date(2025, 10, 20), state="booked"),))

    assert not figures.finished
    assert [day.on.day for day in figures.calendar if day.known][-1] == 12
    assert (figures.who.without_check_in, figures.who.still_to_come) == (0, 1)
    assert figures.next_dates[0].what == "sits_booked"


def test_the_month_ends_by_the_propertys_own_clock_when_the_clocks_go_back():
    # 1 December 2025, 00:00 in Chicago is 06:00 UTC: the fall change of 2 November is behind.
    november = date(2025, 11, 1)
    before = datetime(2025, 12, 1, 5, 59, tzinfo=UTC)

    assert not figures_of(month=november, now=before).finished
    assert figures_of(month=november, now=datetime(2025, 12, 1, 6, 0, tzinfo=UTC)).finished


def test_what_passes_on_changes_no_digest_and_a_correction_does():
    rows = month_rows(sits=(sit("Ann", date(2025, 10, 3)),))
    later = replace(
        rows,
        now=datetime(2025, 12, 24, tzinfo=UTC),
        contact=ContactRow(name="Max", phone="1", role="manager"),
        sits_ahead=(sit("Ann", date(2025, 11, 4), state="booked"),),
        units="metric",
    )
    corrected = replace(rows, sits=(*rows.sits, sit("Ben", date(2025, 10, 3))))
    first, second, third = (
        digest_of(month_figures(version, SETTINGS).as_dict())
        for version in (rows, later, corrected)
    )

    assert first == second
    assert first != third


@given(
    days=st.lists(st.integers(1, 31), max_size=30),
    spans=st.lists(st.sampled_from(["morning", "evening", "all_day"]), min_size=30, max_size=30),
)
def test_the_calendar_and_the_people_tell_of_the_same_sits(days, spans):
    sits = tuple(
        sit(f"P{number % 4}", date(2025, 10, day), span)
        for number, (day, span) in enumerate(zip(days, spans, strict=False))
    )
    figures = figures_of(sits=sits)
    halves = sum(day.morning + day.evening for day in figures.calendar)

    assert halves == sum(2 if one.span == "all_day" else 1 for one in sits)
    assert sum(len(one.sits) for one in figures.who.people) == figures.who.sits == len(sits)


def test_figures_are_plain_json_without_coordinates():
    told = figures_of(now=AFTER).as_dict()

    assert told["month"] == "2025-10-01"
    assert told["cut_off_at"] == AFTER.isoformat()
    # The plan is in metres from its own corner; 0.02° of latitude are about 2.2 km.
    assert told["plan"]["boundary"][0][0] == [0, 0] or [0, 0] in told["plan"]["boundary"][0]
    assert 2200 < told["plan"]["height_m"] < 2230


def test_the_vehicles_of_those_who_were_there_are_told_and_no_others():
    figures = figures_of(
        sits=(sit("Ann", date(2025, 10, 3)), sit("Ben", date(2025, 10, 5), state="booked")),
        vehicles={"Ann": "green pickup, plate XX-001", "Ben": "white van, plate XX-002"},
    )
    assert sentences.vehicles(figures) == ["Vehicles, as entered: Ann, green pickup, plate XX-001."]
    assert sentences.vehicles(figures_of(sits=(sit("Ann", date(2025, 10, 3)),))) == []


def test_only_vehicles_of_whoever_was_on_the_land_are_looked_up(cast):
    Person.objects.filter(id=cast.member.id).update(vehicle="red pickup")
    Person.objects.filter(id=cast.stranger.id).update(vehicle="grey van")
    names = {cast.member.name, cast.stranger.name, ""}
    assert vehicles_of(cast.north, names) == {cast.member.name: "red pickup"}

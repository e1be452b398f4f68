"""One's own season: complete for oneself, and nothing of anybody else."""

import csv
import io
from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.reports.own.gather import current_season_year, own_season
from coop.reports.own.pages import write_own_page
from coop.reports.own.tables import TABLES
from properties.people.models import Person
from scheduling.sits.models import Harvest, SitRequest
from tests.coop.reports.months import AFTER, NAMES, make_report, make_sit
from tests.coop.reports.outline import Outline


def season(person, now=AFTER):
    person = Person.objects.select_related("cooperative").get(id=person.id)
    return own_season(person=person, season_year=2025, now=now)


def test_a_season_holds_all_of_ones_own_sits_and_deer(rich):
    ann = rich.people[0]
    figures = season(ann)

    assert figures.person == "Ann Abernathy"
    assert {sit.property for sit in figures.sits} == {"North"}
    sat = [sit for sit in figures.sits if sit.state != "booked"]
    assert figures.together.sits == len(sat) == 5
    assert figures.coming == 2
    assert [(one.on, one.harvest_class) for one in figures.deer] == [
        (date(2025, 9, 20), "antlerless")
    ]
    assert figures.sources["sits"] == len(figures.sits)


def test_guests_stand_beside_the_sit_that_they_shared(rich):
    ann = rich.people[0]
    beside = make_sit(rich.stands[1], ann, date(2025, 10, 19), "evening")
    make_sit(beside.stand, rich.guest, beside.local_date, "evening", host=ann)
    guests = {sit.on: sit.guests for sit in season(ann).sits if sit.stand == beside.stand.name}

    assert guests[date(2025, 10, 19)] == ("Hal Visitor",)


def test_what_was_seen_and_what_is_owed(rich):
    fay = rich.people[5]
    sit = make_sit(rich.stands[0], fay, date(2025, 12, 5), "evening", state="checked_out")
    before = season(fay, now=sit.ends_at - timedelta(hours=1))
    after = season(fay, now=sit.ends_at + timedelta(hours=1))
    make_report(sit, deer=7, shots=1)
    (told,) = (one for one in season(fay).sits if one.on == date(2025, 12, 5))

    assert after.reports_owed == before.reports_owed + 1
    assert (told.deer, told.shots, told.hours, told.is_reported) == (7, 1, 3.58, True)


def test_asked_and_had_stand_by_property(cast, rich):
    ann = rich.people[0]
    SitRequest.objects.create(
        property=cast.south,
        person=ann,
        first_on=date(2025, 11, 1),
        last_on=date(2025, 11, 9),
        wanted_sits=4,
    )
    figures = season(ann)

    assert [(one.property, one.asked, one.got) for one in figures.properties] == [
        ("North", 0, 7),
        ("South", 4, 0),
    ]


def test_another_seasons_deer_and_sits_are_left_out(rich):
    ann = rich.people[0]
    before = season(ann)
    make_sit(rich.stands[0], ann, date(2025, 6, 30), "evening")
    make_sit(rich.stands[0], ann, date(2026, 7, 1), "evening")
    Harvest.objects.create(
        property=rich.land,
        person=ann,
        harvest_class="antlered",
        taken_at=AFTER - timedelta(days=300),
    )

    assert season(ann).sits == before.sits
    assert season(ann).deer == before.deer


def test_the_season_that_runs_begins_with_the_cooperatives_own_month(cast):
    cast.cooperative.settings = {"sits": {"season_year_first_month": 11}}

    assert current_season_year(cast.cooperative, AFTER) == 2025
    assert current_season_year(cast.cooperative, AFTER - timedelta(days=2)) == 2024


def test_the_number_of_queries_grows_with_no_sit(rich):
    ann = rich.people[0]

    def queries():
        with CaptureQueriesContext(connection) as captured:
            season(ann)
        return len(captured)

    before = queries()
    for number in range(8):
        day = date(2025, 12, 1) + timedelta(days=number)
        make_report(make_sit(rich.stands[0], ann, day, "morning"), deer=2)

    assert queries() == before <= 8


def test_no_file_of_ones_season_holds_anybody_else(cast, rich):
    ann = rich.people[0]
    client = cast.client(ann)
    with time_machine.travel(AFTER, tick=False):
        files = [
            client.get(f"/api/v1/my-season/{part}").content.decode()
            for part in ("", "html/", *(f"tables/{name}/" for name in TABLES))
        ]
    others = [name for name in NAMES if name != "Ann Abernathy"]
    people = list(Person.objects.all())
    never = others + [person.phone for person in people] + [person.email for person in people]
    never += ["Crooked Brow", "scar on left", "sneak", "North plot scrape", "Unit 0", "61.5"]
    never += ["harness_allergy_note", "-91.4", "43.20", "Kin of"]
    for content in files:
        assert "North" in content
        for secret in filter(None, never):
            assert secret not in content


def test_everybody_reads_their_own_and_an_application_has_none(cast, rich):
    with time_machine.travel(AFTER, tick=False):
        for person in (cast.member, cast.landowner, cast.stranger):
            answer = cast.client(person).get("/api/v1/my-season/")
            assert answer.status_code == 200
            assert answer.json()["person"] == person.name
        assert cast.application_client().get("/api/v1/my-season/").status_code == 403
        member = cast.client(cast.member)
        assert member.get("/api/v1/my-season/?season_year=2024").json()["season_year"] == 2024
        assert member.get("/api/v1/my-season/?person=1").status_code == 400
        assert member.get("/api/v1/my-season/tables/people/").status_code == 404


def test_every_table_is_csv_with_as_many_rows_as_the_figures(cast, rich):
    client = cast.client(rich.people[0])
    with time_machine.travel(AFTER, tick=False):
        figures = client.get("/api/v1/my-season/").json()
        for table in TABLES:
            answer = client.get(f"/api/v1/my-season/tables/{table}/")
            rows = list(csv.reader(io.StringIO(answer.content.decode())))
            assert len(rows) == len(figures[table]) + 1 > 1
            assert {len(row) for row in rows} == {len(rows[0])}


@pytest.mark.parametrize("number", [0, 6])
def test_the_page_states_its_period_cut_off_sources_and_rules(rich, number):
    html = write_own_page(season(rich.people[number]))
    words = Outline(html).words

    for part in (
        "July 1, 2025 to June 30, 2026, by each property's own clocks (America/Chicago)",
        "Data up to: November 1, 2025, 6:30 AM, America/Chicago",
        "Made from your sits",
        "Hours run from check-in to check-out.",
        "season year first month: 7",
        "It says nothing about whether a stand, a time or a shot was safe or lawful",
    ):
        assert part in words
    outline = Outline(html)
    assert len(outline.of("table")) == len(outline.of("caption")) > 0
    assert all(header.get("scope") in ("row", "col") for header in outline.of("th"))


def test_somebody_without_a_sit_is_told_so(cast, rich):
    words = Outline(write_own_page(season(cast.landowner))).words

    assert "You have not sat this season." in words
    assert "No sit of yours is on record." in words

"""Seasons as stored editions, as pages, and over HTTP."""

import csv
import io
import json
import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.audit.models import AuditEvent
from coop.jobs.models import JobRun
from coop.jobs.services import enqueue_due, run_job
from coop.printing import paper
from coop.printing.paper import Paper
from coop.reports.models import LandNote, MonthlyReport, SeasonReport
from coop.reports.queries import settings_of_layers
from coop.reports.season import services
from coop.reports.season.gather import gather_season
from coop.reports.season.services import write_season
from coop.reports.season.tables import TABLES
from coop.reports.tables import table_csv
from properties.people.models import Person
from scheduling.sits.models import Harvest, HarvestPlan, Sit
from scrapes.cameras.models import Deployment, Observation, ObservationImport
from tests.coop.reports.months import (
    BEGINNING,
    make_poor_month,
    make_report,
    make_sit,
)
from tests.coop.reports.outline import Outline

AFTER = datetime(2026, 7, 1, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def without_paper(monkeypatch):
    monkeypatch.setattr(
        services, "to_pdf", lambda _html: Paper(pdf=None, missing_reason="left out by the test")
    )


@pytest.fixture
def season(cast, rich, writer):
    """The season of the rich month, and a sit on the other property."""
    make_poor_month(cast)
    return written(cast, writer)


def written(cast, writer, now=AFTER):
    return write_season(
        actor=writer, cooperative=cast.cooperative, season_year=2025, now=now
    ).report


def by_name(report):
    return {land["name"]: land for land in report.figures["properties"]}


def test_a_season_counts_what_the_properties_hold(cast, season):
    lands = by_name(season)

    assert list(lands) == ["North", "South"]
    present = Sit.objects.filter(property=cast.north, state__in=["reported"]).count()
    assert lands["North"]["sitting"]["sits"] == present
    assert lands["South"]["sitting"]["sits"] == 1
    assert lands["North"]["classes"] == [
        {"harvest_class": "antlered", "taken": 1, "planned": 3},
        {"harvest_class": "antlerless", "taken": 5, "planned": 8},
    ]
    assert lands["North"]["closed_days"] == 5
    assert lands["North"]["incidents"] == 2
    assert lands["North"]["watched"]["visits"] > 50
    assert season.edition == 1
    assert AuditEvent.objects.filter(object_id=str(season.id)).exists()


def test_a_finished_season_does_not_change_when_time_and_tastes_pass(cast, season, writer):
    cast.cooperative.settings = {"reports": {"confidence": 0.8}}
    cast.cooperative.save()
    again = written(cast, writer, now=AFTER + timedelta(days=200))

    assert again.id == season.id
    assert SeasonReport.objects.count() == 1


def test_a_correction_makes_a_new_edition_that_says_what_changed(cast, rich, season, writer):
    html = season.html
    make_sit(rich.stands[0], rich.people[0], date(2025, 12, 6), "morning")
    HarvestPlan.objects.filter(property=rich.land, harvest_class="antlered").update(planned=1)
    Harvest.objects.filter(harvest_class="antlered").delete()
    second = written(cast, writer)

    assert second.edition == 2
    sits = by_name(season)["North"]["sitting"]["sits"]
    assert f"North: sits {sits + 1}, not {sits}." in second.changes
    assert "North: Antlered deer taken 0, not 1." in second.changes
    assert "North: Antlered deer planned 1, not 3." in second.changes
    assert "What this edition corrects" in second.html
    assert SeasonReport.objects.get(id=season.id).html == html


def test_a_correction_without_words_of_its_own_is_named_all_the_same(cast, rich, season, writer):
    sit = Sit.objects.filter(property=rich.land, state="reported").first()
    Sit.objects.filter(id=sit.id).update(checked_out_at=sit.checked_in_at + timedelta(minutes=5))
    second = written(cast, writer)

    assert len(second.changes) == 1
    assert second.changes[0].startswith("Corrected: hours of the properties")


def test_a_running_season_is_a_state_so_far_and_its_end_corrects_nothing(cast, rich, writer):
    so_far = written(cast, writer, now=BEGINNING)
    whole = written(cast, writer)

    assert "The season is not over: this is the state so far" in so_far.html
    assert "The season is not over" not in whole.html
    assert (whole.edition, whole.changes) == (2, [])


def test_a_season_not_begun_is_refused_and_only_coordinators_write(cast, writer):
    with pytest.raises(ValidationError):
        write_season(actor=writer, cooperative=cast.cooperative, season_year=2026, now=BEGINNING)
    for person in (cast.manager, cast.landowner, cast.member, cast.stranger):
        with pytest.raises(PermissionDenied):
            write_season(
                actor=cast.actor(person), cooperative=cast.cooperative, season_year=2025, now=AFTER
            )


def test_the_page_states_period_zones_cut_off_sources_rules_and_settings(season):
    words = Outline(season.html).words

    for part in (
        "July 1, 2025 to June 30, 2026, by each property's own clocks (America/Chicago)",
        "Data up to: July 1, 2026, 7:00 AM, America/Chicago",
        "Made from what the cooperative's members entered: sits",
        "Whoever checked in was there.",
        "season year first month: 7",
        "independence: 30 minutes",
        "white-tailed deer (also unnamed, deer, odocoileus virginianus)",
        "It says nothing about whether a stand, a time or a shot was safe or lawful",
    ):
        assert part in words
    assert not re.findall(r"\w+_\w+", words)


def test_no_file_of_a_season_names_a_person_a_place_or_a_buck(rich, season, monkeypatch):
    LandNote.objects.filter(topic="gate").update(what="Ring 608-555-0142")
    people = list(Person.objects.all())
    never = [person.name for person in people]
    never += [person.email for person in people] + [person.phone for person in people]
    never += ["Crooked Brow", "ten-pointer", "scar on left", "sneak", "Stand A", "Unit 0"]
    never += ["North plot scrape", "harness_allergy_note", "608-555", "-91.4", "43.20"]
    files = {
        "html": season.html,
        "json": json.dumps(season.figures),
        "csv": "".join(table_csv(table, season.figures) for table in TABLES.values()),
    }
    for kind, content in files.items():
        for secret in never:
            assert secret not in content, f"{secret} stands in the {kind}"


def test_pictures_have_words_and_tables_headers(season):
    outline = Outline(season.html)
    pictures = [one.get("aria-label") for _tag, one in outline.tags if one.get("role") == "img"]

    assert len(pictures) == len(outline.of("figure")) == 2
    assert "North, Antlerless: 5 of 8" in pictures[0]
    assert "October 2025" in pictures[1]
    assert len(outline.of("table")) == len(outline.of("caption"))
    assert all(header.get("scope") in ("row", "col") for header in outline.of("th"))


def test_the_number_of_queries_does_not_grow_with_sits_and_observations(cast, rich):
    settings = settings_of_layers(cast.cooperative.settings)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            gather_season(
                cooperative=cast.cooperative, season_year=2025, now=AFTER, settings=settings
            )
        return len(captured)

    before = queries()
    for number, sit in enumerate(list(Sit.objects.select_related("stand", "person")[:10])):
        day = date(2025, 11, 1) + timedelta(days=number)
        make_report(make_sit(sit.stand, sit.person, day, "morning"), deer=3)
    Observation.objects.bulk_create(
        Observation(
            deployment=Deployment.objects.first(),
            batch=ObservationImport.objects.get(),
            source_key=f"more-{number}",
            observed_at=datetime(2025, 11, 1, tzinfo=UTC) - timedelta(hours=number),
            kind="animal",
        )
        for number in range(200)
    )

    assert queries() == before <= 25


def url(report, part=""):
    return f"/api/v1/season-reports/{report.id}/{part}"


@pytest.mark.parametrize("part", ["", "figures/", "html/", "tables/deer/"])
def test_a_coordinator_reads_and_others_find_nothing(cast, season, part):
    assert cast.client(cast.coordinator).get(url(season, part)).status_code == 200
    # A manager of one property learns nothing of the others.
    for person in (cast.manager, cast.member, cast.landowner, cast.stranger):
        assert cast.client(person).get(url(season, part)).status_code == 404
    assert cast.application_client().get(url(season, part)).status_code == 404


def test_every_table_is_csv_with_its_own_columns(cast, season):
    client = cast.client(cast.coordinator)
    for table in TABLES:
        answer = client.get(url(season, f"tables/{table}/"))
        rows = list(csv.reader(io.StringIO(answer.content.decode())))
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        assert len(rows) > 1
        assert {len(row) for row in rows} == {len(rows[0])}
    assert client.get(url(season, "tables/people/")).status_code == 404


def test_a_coordinator_starts_a_season_and_the_job_writes_it(cast, rich):
    body = {"cooperative": cast.cooperative.id, "season_year": 2025}
    answer = cast.client(cast.coordinator).post("/api/v1/season-reports/", body)

    assert answer.status_code == 202
    run = run_job(run_id=answer.data["job"], now=JobRun.objects.get().due_at)
    assert run.state == "done", run.error
    assert SeasonReport.objects.get().id.hex == run.result["report"].replace("-", "")
    assert cast.client(cast.manager).post("/api/v1/season-reports/", body).status_code == 403
    late = {**body, "season_year": 2199}
    assert cast.client(cast.coordinator).post("/api/v1/season-reports/", late).status_code == 400


def test_the_paper_is_stored_and_served(cast, rich, writer, monkeypatch):
    monkeypatch.setattr(services, "to_pdf", paper.to_pdf)
    report = written(cast, writer)
    answer = cast.client(cast.coordinator).get(url(report, "pdf/"))

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")


def test_a_season_is_due_once_when_it_is_over_everywhere(cast):
    cast.south.time_zone = "America/Anchorage"
    cast.south.save()
    cast.foreign.time_zone = "America/Anchorage"
    cast.foreign.save()

    def due(now):
        return [run.period for run in enqueue_due(now=now) if run.name == "reports.season"]

    # 1 July, 06:00 in Anchorage is 14:00 UTC.
    assert due(datetime(2026, 7, 1, 13, 59, tzinfo=UTC)) == []
    assert due(datetime(2026, 7, 1, 14, 0, tzinfo=UTC)) == ["2025", "2025"]
    assert due(datetime(2026, 8, 1, 14, 0, tzinfo=UTC)) == []


def test_the_command_writes_files_and_ends_with_what_it_did(cast, tmp_path, capsys):
    call_command("writeseason", season_year=2024, out=tmp_path)
    first = capsys.readouterr().out
    call_command("writeseason", season_year=2024, cooperative=cast.cooperative.name)
    second = capsys.readouterr().out

    assert "2 cooperatives read: 2 editions written, 0 unchanged, 0 skipped; 4 files." in first
    assert "1 cooperatives read: 0 editions written, 1 unchanged, 0 skipped" in second
    assert not MonthlyReport.objects.exists()
    with pytest.raises(CommandError):
        call_command("writeseason", season_year=2024, cooperative="No such")

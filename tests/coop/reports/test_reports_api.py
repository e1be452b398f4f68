"""Reports and notes over HTTP: who reads what, and the work as a job."""

import csv
import io
import json
from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command

from coop.jobs.models import JobRun
from coop.jobs.services import enqueue_due, run_job
from coop.reports.models import LandNote, MonthlyReport
from properties.land.models import Property
from tests.coop.reports.months import make_poor_month

pytestmark = pytest.mark.usefixtures("without_paper")


def url(report, part=""):
    return f"/api/v1/reports/{report.id}/{part}"


PARTS = ["", "figures/", "html/", "tables/who/"]


@pytest.mark.parametrize("part", PARTS)
def test_landowner_manager_and_coordinator_read_and_others_find_nothing(cast, report, part):
    for person in (cast.landowner, cast.manager, cast.coordinator):
        assert cast.client(person).get(url(report, part)).status_code == 200
    for person in (cast.member, cast.other_member, cast.stranger):
        assert cast.client(person).get(url(report, part)).status_code == 404
    assert cast.application_client().get(url(report, part)).status_code == 404


def test_the_appendix_is_for_managers_alone(cast, report):
    assert cast.client(cast.manager).get(url(report, "appendix/")).status_code == 200
    assert cast.client(cast.landowner).get(url(report, "appendix/")).status_code == 403
    assert cast.client(cast.stranger).get(url(report, "appendix/")).status_code == 404
    for table in ("visits", "wind"):
        assert cast.client(cast.landowner).get(url(report, f"tables/{table}/")).status_code == 403
    assert "appendix" not in cast.client(cast.landowner).get(url(report, "figures/")).json()
    assert "appendix" in cast.client(cast.manager).get(url(report, "figures/")).json()


def test_a_page_is_served_as_html_that_may_load_nothing(cast, report):
    answer = cast.client(cast.landowner).get(url(report, "html/"), HTTP_ACCEPT="text/html")

    assert answer["Content-Type"] == "text/html; charset=utf-8"
    assert "default-src 'none'" in answer["Content-Security-Policy"]
    assert answer.content.decode() == report.html


def test_a_missing_pdf_says_why(cast, report):
    answer = cast.client(cast.landowner).get(url(report, "pdf/"), HTTP_ACCEPT="application/pdf")

    assert answer.status_code == 404
    assert answer["Content-Type"] == "application/problem+json"
    assert b"left out by the test" in answer.content


def test_a_stored_pdf_is_served_as_it_is(cast, report):
    MonthlyReport.objects.filter(id=report.id).update(pdf=b"%PDF-stored")
    answer = cast.client(cast.landowner).get(url(report, "pdf/"))

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content == b"%PDF-stored"


def test_every_table_is_csv_with_its_own_columns(cast, report):
    client = cast.client(cast.manager)
    for table in ("who", "calendar", "deer", "plan", "incidents", "work", "next_dates"):
        answer = client.get(url(report, f"tables/{table}/"), HTTP_ACCEPT="text/csv")
        rows = list(csv.reader(io.StringIO(answer.content.decode())))
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        assert len(rows) > 1
        assert {len(row) for row in rows} == {len(rows[0])}
    visits = client.get(url(report, "tables/visits/")).content.decode()
    assert "North plot scrape" in visits
    assert client.get(url(report, "tables/secrets/")).status_code == 404


def test_the_landowner_reads_who_came_and_left_by_the_clock_of_the_property(cast, report):
    answer = cast.client(cast.landowner).get(url(report, "tables/who/"), HTTP_ACCEPT="text/csv")
    told = [row["came_at"] for row in csv.DictReader(io.StringIO(answer.content.decode()))]
    stored = [stay["came_at"] for stay in report.figures["who"]["presences"]]

    figures = cast.client(cast.landowner).get(url(report, "figures/")).json()
    assert [stay["came_at"] or "" for stay in figures["who"]["presences"]] == told
    came = [(one, kept) for one, kept in zip(told, stored, strict=True) if kept]
    assert came
    for one, kept in came:
        assert one.endswith(("-05:00", "-06:00"))
        assert datetime.fromisoformat(one) == datetime.fromisoformat(kept)


def test_a_list_is_filtered_by_month_and_shows_no_pages(
    cast, report, django_assert_max_num_queries
):
    client = cast.client(cast.landowner)
    with django_assert_max_num_queries(12):
        (row,) = client.get("/api/v1/reports/?month=2025-10").data["results"]

    assert (row["month"], row["edition"]) == ("2025-10", 1)
    assert "html" not in row
    assert client.get("/api/v1/reports/?month=2025-09").data["results"] == []
    assert client.get("/api/v1/reports/?month=October").status_code == 400


def test_a_manager_starts_a_month_and_the_job_writes_it(cast):
    answer = cast.client(cast.manager).post(
        "/api/v1/reports/", {"property": cast.north.id, "month": "2025-10"}, format="json"
    )

    assert answer.status_code == 202
    assert answer["Location"] == f"/api/v1/jobs/{answer.data['job']}/"
    run = run_job(run_id=answer.data["job"], now=JobRun.objects.get().due_at)
    assert run.state == "done", run.error
    assert MonthlyReport.objects.get().id.hex == run.result["report"].replace("-", "")


def test_starting_is_refused_to_readers_and_for_months_that_cannot_be(cast):
    body = {"property": cast.north.id, "month": "2025-10"}
    assert cast.client(cast.landowner).post("/api/v1/reports/", body).status_code == 403
    assert cast.client(cast.stranger).post("/api/v1/reports/", body).status_code == 400
    for month in ("2025-13", "October", "2999-01"):
        answer = cast.client(cast.manager).post("/api/v1/reports/", {**body, "month": month})
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["pointer"].startswith("#/month")
    assert not JobRun.objects.exists()


def test_a_manager_enters_and_corrects_a_note_that_a_landowner_reads(cast):
    manager = cast.client(cast.manager)
    made = manager.post(
        "/api/v1/land-notes/",
        {
            "property": cast.north.id,
            "happened_on": "2025-10-12",
            "topic": "gate",
            "what": "The lower gate stood open.",
        },
    )
    assert made.status_code == 201, made.data
    where = made["Location"]
    changed = manager.patch(where, {"done": "Closed it."}, HTTP_IF_MATCH=made["ETag"])

    assert changed.status_code == 200
    assert cast.client(cast.landowner).get(where).data["done"] == "Closed it."
    assert cast.client(cast.landowner).patch(where, {}, HTTP_IF_MATCH="*").status_code == 403
    assert cast.client(cast.stranger).get(where).status_code == 404
    assert manager.post(f"{where}retire/").status_code == 200
    assert LandNote.objects.get().retired_at is not None


def test_a_note_with_an_address_is_refused_with_its_field(cast):
    answer = cast.client(cast.manager).post(
        "/api/v1/land-notes/",
        {
            "property": cast.north.id,
            "happened_on": "2025-10-12",
            "topic": "incident",
            "what": "Write to ann@example.org",
        },
    )

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "#/what"


def due(now: datetime) -> list[JobRun]:
    return [run for run in enqueue_due(now=now) if run.name == "reports.month"]


def test_last_month_is_due_once_from_six_in_the_propertys_own_morning(cast):
    # 1 November 2025, 06:00 in Chicago is 11:00 UTC (daylight time until the 2nd); in
    # Anchorage it is 06:00 three hours later.
    cast.south.time_zone = "America/Anchorage"
    cast.south.save()

    assert due(datetime(2025, 11, 1, 10, 59, tzinfo=UTC)) == []
    owed = due(datetime(2025, 11, 1, 11, 0, tzinfo=UTC))
    assert {(run.scope, run.period) for run in owed} == {
        (str(land.id), "2025-10") for land in (cast.north, cast.foreign)
    }
    assert due(datetime(2025, 11, 1, 13, 59, tzinfo=UTC)) == []
    (last,) = due(datetime(2025, 11, 1, 14, 0, tzinfo=UTC))
    assert last.scope == str(cast.south.id)


def test_a_beat_that_was_down_on_the_first_catches_up(cast):
    owed = due(datetime(2025, 11, 20, 3, 0, tzinfo=UTC))

    assert {run.period for run in owed} == {"2025-10"}
    assert len(owed) == 3


def test_the_command_writes_files_and_ends_with_what_it_did(cast, tmp_path, capsys):
    make_poor_month(cast)
    call_command("writereports", month="2025-10", out=tmp_path)
    first = capsys.readouterr().out
    call_command("writereports", month="2025-10", property=str(cast.north.id))
    second = capsys.readouterr().out

    assert "3 properties read: 3 editions written, 0 unchanged, 0 skipped; 9 files." in first
    assert "left out by the test" in first
    assert "1 properties read: 0 editions written, 1 unchanged, 0 skipped" in second
    assert {path.name for path in tmp_path.glob("north-*")} == {
        "north-2025-10.html",
        "north-2025-10-appendix.html",
        "north-2025-10.json",
    }


def test_two_properties_of_one_name_have_files_of_their_own(cast, tmp_path):
    Property.objects.filter(id=cast.foreign.id).update(name="north!")
    call_command("writereports", month="2025-10", out=tmp_path)

    written = {path.name: json.loads(path.read_text()) for path in tmp_path.glob("*.json")}
    assert {name: figures["property_name"] for name, figures in written.items()} == {
        f"north-{cast.north.id}-2025-10.json": "North",
        f"north-{cast.foreign.id}-2025-10.json": "north!",
        "south-2025-10.json": "South",
    }


@pytest.mark.parametrize("options", [{"month": "10/2025"}, {"month": "2025-10", "property": "No"}])
def test_the_command_refuses_what_it_cannot_read(cast, options):
    with pytest.raises(CommandError):
        call_command("writereports", **options)

"""Stored editions: the same month is one edition, a correction is a new one that says so."""

from datetime import date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from coop.printing import paper
from coop.reports import services
from coop.reports.models import LandNote, MonthlyReport
from coop.reports.services import write_month
from scheduling.errands.models import Errand
from scheduling.sits.models import HarvestPlan
from tests.coop.reports.months import AFTER, BEGINNING, OCTOBER, make_sit

pytestmark = pytest.mark.usefixtures("without_paper")


def test_the_first_edition_is_stored_recorded_and_told(rich, writer):
    written = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)

    assert written.is_new
    assert written.report.edition == 1
    assert written.report.changes == []
    assert AuditEvent.objects.filter(object_id=str(written.report.id)).exists()
    fact = Fact.objects.get(topic="report.written")
    assert fact.ids["report"] == str(written.report.id)


def test_a_finished_month_does_not_change_when_time_passes(rich, report, writer):
    make_sit(rich.stands[0], rich.people[0], date(2025, 11, 20), "evening", state="booked")
    Errand.objects.filter(state="open").update(state="cancelled")
    rich.land.settings = {"reports": {"confidence": 0.8}, "visits": {"record_days": 30}}
    rich.land.name = "North tract"
    rich.land.save()
    again = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER + timedelta(days=60))

    assert not again.is_new
    assert again.report.id == report.id
    assert MonthlyReport.objects.count() == 1


def test_a_correction_makes_a_new_edition_that_says_what_changed(rich, report, writer):
    make_sit(rich.stands[0], rich.guest, date(2025, 10, 30), "morning", host=rich.people[0])
    LandNote.objects.filter(topic="damage").update(done="Graded on the 28th.")
    HarvestPlan.objects.filter(harvest_class="antlered").update(planned=1)
    second = write_month(
        actor=writer, land=rich.land, month=OCTOBER, now=AFTER + timedelta(days=3)
    ).report

    assert second.edition == 2
    assert "Added: Hal Visitor on Oct 30 (morning)." in second.changes
    assert "Entered or changed: Ruts on the creek lane after rain (Oct 21)." in second.changes
    assert "Antlered deer planned: 1, not 3." in second.changes
    assert "What this edition corrects" in second.html
    first_stored = MonthlyReport.objects.get(id=report.id)
    assert first_stored.html == report.html
    assert first_stored.digest == report.digest


def test_a_correction_of_a_kind_without_words_is_named_all_the_same(rich, report, writer):
    rich.land.closures.filter(reason="Cattle moved").update(lifted_at=AFTER)
    second = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report

    assert second.changes == ["Corrected: the calendar."]


def test_a_running_month_is_a_state_so_far_and_its_end_corrects_nothing(rich, writer):
    so_far = write_month(actor=writer, land=rich.land, month=OCTOBER, now=BEGINNING).report
    whole = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report

    assert "The month is not over: this is the state so far" in so_far.html
    assert "The month is not over" not in whole.html
    assert (whole.edition, whole.changes) == (2, [])


def test_a_month_not_begun_is_refused(rich, writer):
    with pytest.raises(ValidationError):
        write_month(actor=writer, land=rich.land, month=date(2025, 12, 1), now=AFTER)


def test_a_landowner_or_member_writes_no_report(cast):
    for person in (cast.landowner, cast.member, cast.stranger):
        with pytest.raises(PermissionDenied):
            write_month(actor=cast.actor(person), land=cast.north, month=OCTOBER, now=AFTER)


def test_whoever_comes_second_builds_on_the_edition_written_meanwhile(rich, writer, monkeypatch):
    honest = services._draft
    calls = []

    def overtaken(*arguments):
        calls.append(1)
        draft = honest(*arguments)
        if len(calls) == 1:
            MonthlyReport.objects.create(
                property=rich.land,
                month=OCTOBER,
                edition=1,
                figures={**draft.figures, "edited": True},
                html="",
                data_cut_off_at=AFTER,
                digest="of another writer",
            )
        return draft

    monkeypatch.setattr(services, "_draft", overtaken)
    written = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)

    assert len(calls) == 2
    assert written.report.edition == 2


def test_without_the_systems_libraries_the_page_still_goes_out_and_says_what_is_missing(
    rich, writer, monkeypatch
):
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    monkeypatch.setattr(services, "to_pdf", paper.to_pdf)
    report = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report

    assert report.pdf is None
    assert "libpango-1.0-0" in report.pdf_missing_reason
    assert "Who was on the land" in report.html


def test_the_paper_is_stored_beside_the_page(cast, writer, monkeypatch):
    monkeypatch.setattr(services, "to_pdf", paper.to_pdf)
    report = write_month(actor=writer, land=cast.foreign, month=OCTOBER, now=AFTER).report
    report.refresh_from_db()

    assert bytes(report.pdf).startswith(b"%PDF-")
    assert report.pdf_missing_reason == ""


def test_a_note_with_a_phone_number_is_refused_by_field(cast):
    with pytest.raises(ValidationError) as refusal:
        services.create_note(
            actor=cast.actor(cast.manager),
            land=cast.north,
            fields={
                "happened_on": date(2025, 10, 3),
                "topic": "incident",
                "what": "Somebody parked at the gate; ring 608-555-0142",
            },
            now=AFTER,
        )
    assert "phone number" in refusal.value.message_dict["what"][0]
    assert not LandNote.objects.exists()


def test_editing_a_note_is_recorded_with_both_sides(cast):
    actor = cast.actor(cast.manager)
    note = services.create_note(
        actor=actor,
        land=cast.north,
        fields={"happened_on": date(2025, 10, 3), "topic": "gate", "what": "Gate open"},
        now=AFTER,
    )
    services.change_note(actor=actor, note=note, changes={"done": "Closed it"}, now=AFTER)
    event = AuditEvent.objects.filter(object_id=str(note.id)).latest("recorded_at", "id")

    assert (event.before["done"], event.after["done"]) == ("", "Closed it")
    assert note.version == 2


def test_a_settings_group_that_vanished_does_not_stop_a_correction(rich, report, writer):
    figures = {**report.figures, "settings_used": {"reports": {"gone": 1}}}
    MonthlyReport.objects.filter(id=report.id).update(figures=figures)
    again = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)

    assert not again.is_new
    assert isinstance(again.report.data_cut_off_at, datetime)

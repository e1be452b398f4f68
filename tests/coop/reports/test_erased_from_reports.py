"""Stored editions keep their figures and lose the name of whoever was erased."""

import json

import pytest
import time_machine

from coop.access.actors import system_actor
from coop.reports.services import write_month
from properties.people import erasure
from properties.people.models import Person
from scheduling.sits.models import Sit
from tests.cast import NOW, make_member
from tests.coop.reports.months import AFTER, OCTOBER, make_rich_month
from tests.properties.people.erasing import OWN_WORDS, erased, left


@pytest.fixture(autouse=True)
def at_now(db):
    with time_machine.travel(NOW, tick=False):
        yield


def test_reports_keep_their_figures_and_lose_the_name_and_the_paper(cast):
    rich = make_rich_month(cast)
    hunter = rich.people[2]
    Person.objects.filter(id=hunter.id).update(**OWN_WORDS)
    hunter.refresh_from_db()
    system = system_actor("test")
    report = write_month(actor=system, land=rich.land, month=OCTOBER, now=AFTER).report
    type(report).objects.filter(id=report.id).update(pdf=b"%PDF", pdf_missing_reason="")
    before = report.figures
    assert hunter.name in report.html
    Sit.objects.filter(person=hunter, state="booked").update(state="cancelled")

    left(cast, hunter)
    erased(cast, hunter)

    report.refresh_from_db()
    written = report.html + report.appendix_html + report.summary
    assert hunter.name not in written
    assert OWN_WORDS["vehicle"] not in written
    assert erasure.ERASED in report.html
    assert (report.pdf, report.pdf_missing_reason.startswith("Taken away")) == (None, True)
    for part in ("calendar", "deer", "incidents", "work", "sources"):
        told = json.dumps(before[part]).replace(hunter.name, erasure.ERASED)
        assert report.figures[part] == json.loads(told)


def test_an_edition_that_does_not_tell_of_them_keeps_its_paper(cast):
    rich = make_rich_month(cast)
    report = write_month(
        actor=system_actor("test"), land=rich.land, month=OCTOBER, now=AFTER
    ).report
    type(report).objects.filter(id=report.id).update(pdf=b"%PDF", pdf_missing_reason="")
    stranger = make_member(cast.cooperative, "Nora Newcomer", cast.north)

    left(cast, stranger)
    erased(cast, stranger)

    report.refresh_from_db()
    assert bytes(report.pdf) == b"%PDF"

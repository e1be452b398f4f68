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


def test_somebody_elses_vehicle_and_the_words_of_the_page_stay(cast):
    """A vehicle entered as "1" or "grey" may be any figure and any word."""
    rich = make_rich_month(cast)
    hunter, other = rich.people[2], rich.people[1]
    Person.objects.filter(id=hunter.id).update(vehicle="1", phone="2")
    Person.objects.filter(id=other.id).update(vehicle="van 1, grey")
    report = write_month(
        actor=system_actor("test"), land=rich.land, month=OCTOBER, now=AFTER
    ).report
    assert f"{hunter.name}, 1;" in report.html or f"{hunter.name}, 1." in report.html
    before = report.html
    Sit.objects.filter(person=hunter, state="booked").update(state="cancelled")

    left(cast, hunter)
    erased(cast, hunter)

    report.refresh_from_db()
    assert f"{other.name}, van 1, grey" in report.html
    told = before.replace(f"{hunter.name}, 1", hunter.name)
    assert report.html == told.replace(hunter.name, erasure.ERASED)
    vehicles = {one["person"]: one["vehicle"] for one in report.figures["who"]["people"]}
    assert vehicles[erasure.ERASED] == ""
    assert vehicles[other.name] == "van 1, grey"


def test_whom_to_call_loses_name_and_number(cast):
    rich = make_rich_month(cast)
    report = write_month(
        actor=system_actor("test"), land=rich.land, month=OCTOBER, now=AFTER
    ).report
    caller = Person.objects.get(name=report.figures["contact"]["name"])
    number = report.figures["contact"]["phone"]
    assert number
    assert f'href="tel:{number}"' in report.html
    Sit.objects.filter(person=caller, state="booked").update(state="cancelled")

    left(cast, caller)
    erased(cast, caller)

    report.refresh_from_db()
    assert (report.figures["contact"]["name"], report.figures["contact"]["phone"]) == (
        erasure.ERASED,
        "",
    )
    assert "tel:" not in report.html
    assert number not in report.html

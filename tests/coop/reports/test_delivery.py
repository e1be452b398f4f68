"""The month reaches its landowners, once for each edition, and its link holds only for them."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.utils import timezone

from coop.access.roles import Role
from coop.outbox import services as outbox
from coop.outbox.models import Message
from coop.reports import links
from coop.reports.models import MonthlyReport
from coop.reports.services import write_month
from properties.people.models import RoleGrant
from properties.wind.models import ObservedHour
from scheduling.sits.models import Sit
from tests.coop.reports.months import AFTER, BEGINNING, OCTOBER


def letters_to(person):
    return [sent for sent in mail.outbox if sent.to == [person.email]]


def path_in(text):
    return re.search(r"https?://[^/]+(/notices/report/[^\s/]+/)", text)[1]


def test_a_landowner_gets_the_month_as_text_page_and_paper(cast, rich, writer):
    report = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report
    outbox.drain(now=AFTER)

    (letter,) = letters_to(cast.landowner)
    assert letter.subject == f"{rich.land.name}: report for October 2025"
    assert report.summary in letter.body
    (page, kind) = letter.alternatives[0]
    assert kind == "text/html"
    assert path_in(page) == path_in(letter.body)
    ((name, content, media_type),) = letter.attachments
    assert (name, media_type) == ("report-2025-10-edition-1.pdf", "application/pdf")
    assert content == bytes(report.pdf)
    assert content.startswith(b"%PDF")
    assert "List-Unsubscribe" in letter.extra_headers
    assert {
        message.recipient for message in Message.objects.filter(once_key__startswith="report:")
    } == {cast.landowner.email}


@pytest.mark.usefixtures("without_paper")
def test_an_edition_is_sent_once_and_a_correction_says_that_it_is_one(cast, rich, writer):
    for _again in range(2):
        write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)
        outbox.drain(now=AFTER)
    assert len(letters_to(cast.landowner)) == 1

    Sit.objects.filter(state="missed").delete()
    write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)
    outbox.drain(now=AFTER)

    second = letters_to(cast.landowner)[1]
    assert second.subject.endswith(", corrected")
    assert "What this edition corrects" in second.body


@pytest.mark.usefixtures("without_paper")
def test_an_edition_that_corrects_the_appendix_alone_is_sent_to_no_landowner(cast, rich, writer):
    write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)
    outbox.drain(now=AFTER)
    ObservedHour.objects.filter(property=rich.land).delete()
    second = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report
    outbox.drain(now=AFTER)

    assert second.changes == ["The managers' appendix (cameras and wind) was counted anew."]
    assert len(letters_to(cast.landowner)) == 1

    Sit.objects.filter(state="missed").delete()
    write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER)
    outbox.drain(now=AFTER)
    assert [letter.subject[-11:] for letter in letters_to(cast.landowner)] == [
        "ctober 2025",
        ", corrected",
    ]


@pytest.mark.usefixtures("without_paper")
def test_the_end_of_a_month_is_sent_though_nothing_came_after_the_state_so_far(cast, writer):
    for now in (BEGINNING, AFTER):
        write_month(actor=writer, land=cast.north, month=OCTOBER, now=now)
        outbox.drain(now=now)

    assert len(letters_to(cast.landowner)) == 1


@pytest.mark.usefixtures("without_paper")
def test_a_month_that_still_runs_is_sent_to_nobody(cast, rich, writer):
    write_month(actor=writer, land=rich.land, month=OCTOBER, now=BEGINNING)
    outbox.drain(now=BEGINNING)

    assert letters_to(cast.landowner) == []


def test_a_link_opens_the_page_and_the_paper_without_signing_in(client, cast, report):
    page = links.link_to(report, person=cast.landowner, form="html")
    answer = client.get(page)
    assert answer.status_code == 200
    assert answer.content.decode() == report.html
    assert answer["Content-Security-Policy"].startswith("default-src 'none'")

    MonthlyReport.objects.update(pdf=b"%PDF-stored")
    paper = client.get(links.link_to(report, person=cast.landowner, form="pdf"))
    assert (paper.content, paper["Content-Type"]) == (b"%PDF-stored", "application/pdf")


def test_a_link_ends_with_its_time_its_readers_role_and_any_change(client, cast, report):
    link = links.link_to(report, person=cast.landowner, form="html")
    assert client.get(link[:-2] + "/").status_code == 404
    with time_machine.travel(timezone.now() + links.VALID_FOR + timedelta(minutes=1)):
        assert client.get(link).status_code == 404
    assert client.get(link).status_code == 200

    RoleGrant.objects.filter(person=cast.landowner, role=Role.LANDOWNER).update(
        revoked_at=timezone.now()
    )
    assert client.get(link).status_code == 404
    assert client.get(links.link_to(report, person=cast.stranger, form="html")).status_code == 404

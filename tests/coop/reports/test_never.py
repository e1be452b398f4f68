"""What no file of any report may hold, read from the files as each reader gets them."""

import io
import re
from dataclasses import dataclass
from datetime import UTC, datetime

import pypdf
import pytest
import time_machine
from django.db import transaction

from coop.access.actors import system_actor
from coop.access.roles import Role
from coop.reports import tables as month_tables
from coop.reports.own import tables as own_tables
from coop.reports.season import tables as season_tables
from coop.reports.season.services import write_season
from coop.reports.services import write_month
from coop.reports.week import tables as week_tables
from properties.people.models import Person, RoleGrant
from properties.stands.models import Stand
from scheduling.sits.models import Sit
from tests.cast import make_cast
from tests.coop.reports.months import AFTER, NAMES, OCTOBER, make_rich_month

pytestmark = pytest.mark.django_db

READERS = ("coordinator", "manager", "landowner", "member", "other_member", "stranger")
ALLOWED = {
    "coordinator": {"reports", "season-reports", "week-ahead", "my-season"},
    "manager": {"reports", "week-ahead", "my-season"},
    "landowner": {"reports", "my-season"},
    "member": {"my-season"},
    "other_member": {"my-season"},
    "stranger": {"my-season"},
    "application": set(),
}


@dataclass(frozen=True, kw_only=True)
class Files:
    """Text of every file by reader and address, and what the database held."""

    of: dict[str, dict[str, str]]
    manager_phone: str
    contacts: tuple[str, ...]
    places: tuple[str, ...]
    things: tuple[str, ...]


@pytest.fixture(scope="module")
def files(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        made = _files()
        transaction.set_rollback(True)
    return made


def _files():
    cast = make_cast()
    rich = make_rich_month(cast)
    for number, person in enumerate(Person.objects.order_by("id")):
        Person.objects.filter(id=person.id).update(phone=f"555-02{number:02d}")
    Sit.objects.update(fit=0.87654)
    Stand.objects.filter(id=rich.stands[1].id).update(is_open=False, closed_reason="Rotten rung")
    writer = system_actor("test")
    month = write_month(actor=writer, land=rich.land, month=OCTOBER, now=AFTER).report
    season = write_season(
        actor=writer,
        cooperative=cast.cooperative,
        season_year=2025,
        now=datetime(2026, 7, 2, tzinfo=UTC),
    ).report
    clients = {name: cast.client(getattr(cast, name)) for name in READERS}
    clients["application"] = cast.application_client()
    addresses = [
        *_of(f"reports/{month.id}/", month_tables, "html", "pdf", "appendix"),
        *_of(f"season-reports/{season.id}/", season_tables, "html", "pdf"),
        *_of(f"week-ahead/{rich.land.id}/", week_tables, "html"),
        *_of("my-season/", own_tables, "html"),
        "my-season/",
    ]
    manager = RoleGrant.objects.get(role=Role.MANAGER, property=rich.land).person
    everybody = list(Person.objects.all())
    contacts = {person.phone for person in everybody} - {manager.phone}
    contacts |= {person.email for person in everybody} | {"555-0199", "555-0142"}
    contacts |= {person.emergency_contact_name for person in everybody}
    rows = (*rich.stands, *rich.scrapes)
    with time_machine.travel(AFTER, tick=False):
        of = {name: _readable(client, addresses) for name, client in clients.items()}
    return Files(
        of=of,
        manager_phone=manager.phone,
        contacts=tuple(sorted(contacts - {""})),
        places=tuple(
            {
                f"{value:.{digits}f}"
                for row in rows
                for value in (row.longitude, row.latitude)
                for digits in range(3, 8)
            }
        ),
        things=tuple(row.name for row in rows),
    )


def _of(place, tables, *pages):
    yield from (f"{place}{page}/" for page in pages)
    yield from (f"{place}tables/{name}/" for name in tables.TABLES)
    if place != "my-season/":
        yield f"{place}figures/"


def _readable(client, addresses):
    """Every file that the reader gets, as text."""
    found = {}
    for address in addresses:
        answer = client.get(f"/api/v1/{address}")
        assert answer.status_code in (200, 403, 404), address
        if answer.status_code == 200:
            found[address] = _text(answer)
    return found


def _text(answer):
    if answer["Content-Type"] == "application/pdf":
        paper = pypdf.PdfReader(io.BytesIO(answer.content))
        told = [page.extract_text() for page in paper.pages]
        return " ".join([*told, str(paper.metadata)])
    text = answer.content.decode()
    # Numbers of path data are places on paper, not on earth.
    return re.sub(r'(?<= )(d|x|y|width|height|transform|viewBox)="[^"]*"', "", text)


def _assert_none(files, reader, secrets):
    for address, text in files.of[reader].items():
        for secret in secrets:
            assert secret not in text, f"{reader} reads {secret} at {address}"


@pytest.mark.parametrize("reader", ALLOWED)
def test_each_reader_gets_the_kinds_of_report_that_are_theirs(files, reader):
    assert {address.split("/")[0] for address in files.of[reader]} == ALLOWED[reader]


def test_the_files_are_really_read(files):
    pages = files.of["landowner"]
    (paper,) = (text for address, text in pages.items() if address.endswith("/pdf/"))

    assert "Ann Abernathy" in paper
    assert files.manager_phone in paper
    assert "The lower gate stood open" in re.sub(r"\s+", " ", paper)
    assert sum(address.endswith("/pdf/") for address in files.of["coordinator"]) == 2
    assert any("Stand B" in text for text in files.of["manager"].values())
    assert len(files.of["coordinator"]) > 25


@pytest.mark.parametrize("reader", ALLOWED)
def test_nobody_reads_contacts_kin_papers_bucks_or_what_a_hunter_accused(files, reader):
    papers = ["harness_allergy_note", "hunter_education", "expires_on"]
    bucks = ["Crooked Brow", "ten-pointer", "scar on left shoulder", "61.5"]
    accused = ["sneak", "43.2076", "-91.4912"]
    _assert_none(files, reader, [*files.contacts, *papers, *bucks, *accused])


@pytest.mark.parametrize("reader", ALLOWED)
def test_nobody_reads_coordinates_or_fit_scores(files, reader):
    _assert_none(files, reader, [*files.places, "0.87654", "0.877", "fit_score"])


def test_a_landowner_reads_no_stand_scrape_camera_or_hidden_feature(files):
    hidden = ["Unit 0", "Secret bedding", "Hidden sanctuary", *files.things]
    _assert_none(files, "landowner", hidden)


def test_a_landowner_reads_nothing_of_dues_or_who_got_how_many(files):
    _assert_none(files, "landowner", ["gini_of", "Gini", "entitlement", "camera_health"])


@pytest.mark.parametrize("reader", ["member", "other_member", "stranger"])
def test_a_member_reads_of_nobody_else(files, reader):
    _assert_none(files, reader, [*NAMES, "Hal Visitor", "Ida Clientson", *files.things])


def test_a_season_names_nobody_and_no_stand_or_scrape(files):
    season = {
        address: text
        for address, text in files.of["coordinator"].items()
        if address.startswith("season-reports/")
    }
    people = [*NAMES, "Hal Visitor", "Ida Clientson", "Max Manager", "Otto Member"]

    assert len(season) == 8
    for address, text in season.items():
        for secret in [*people, *files.things, "Unit 0", "Secret bedding"]:
            assert secret not in text, f"{secret} at {address}"

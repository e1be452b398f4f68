"""Dues, work days and lists of people: who reads them, what is entered, and nothing by halves."""

from datetime import date
from decimal import Decimal

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.access.roles import Role
from coop.audit.models import AuditEvent
from properties.obligations.bulk_rows import BulkKind
from properties.obligations.bulk_services import enter_bulk
from properties.obligations.models import Due, WorkDay
from properties.people.models import Member, Paper, Person, RoleGrant
from tests.cast import NOW
from tests.properties.obligations.test_bulk_rows import mutated

pytestmark = pytest.mark.usefixtures("at_now")


@pytest.fixture
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


def send(cast, kind, text, *, dry_run=False, who=None):
    return cast.client(who or cast.coordinator).post(
        "/api/v1/bulk-entries/",
        {
            "cooperative": str(cast.cooperative.id),
            "kind": kind,
            "dry_run": dry_run,
            "file": SimpleUploadedFile("list.csv", text.encode(), content_type="text/csv"),
        },
        format="multipart",
    )


def dues_of(cast, *, paid="2025-07-30"):
    return (
        "person,season_year,amount,due_on,paid_on\n"
        f"{cast.member.email},2025,450,2025-08-01,{paid}\n"
        f"{cast.other_member.id},2025,450,2025-08-01,\n"
    )


def owe(cast, **fields):
    return Due.objects.create(
        person=cast.member,
        **{"season_year": 2025, "amount": 450, "due_on": date(2025, 8, 1), **fields},
    )


@pytest.mark.parametrize(
    ("who", "status"),
    [
        ("member", 200),
        ("coordinator", 200),
        ("manager", 404),
        ("landowner", 404),
        ("other_member", 404),
        ("stranger", 404),
    ],
)
def test_dues_are_read_by_whoever_owes_them_and_by_the_coordinator_alone(cast, who, status):
    due = owe(cast)
    client = cast.client(getattr(cast, who))
    assert client.get(f"/api/v1/dues/{due.id}/").status_code == status
    assert len(client.get("/api/v1/dues/").data["results"]) == (1 if status == 200 else 0)


def test_only_a_coordinator_says_that_dues_were_paid(cast):
    due = owe(cast)
    address, paid = f"/api/v1/dues/{due.id}/", {"paid_on": "2025-10-30"}
    refused = cast.client(cast.member).patch(address, paid, format="json", HTTP_IF_MATCH="*")
    assert refused.status_code == 403
    done = cast.client(cast.coordinator).patch(address, paid, format="json", HTTP_IF_MATCH="*")
    assert done.data["paid_on"] == "2025-10-30"
    event = AuditEvent.objects.get(object_id=due.id)
    assert event.action == "due:write"


def test_dues_paid_in_the_future_are_refused(cast):
    due = owe(cast)
    answer = cast.client(cast.coordinator).patch(
        f"/api/v1/dues/{due.id}/", {"paid_on": "2025-12-01"}, format="json", HTTP_IF_MATCH="*"
    )
    assert answer.status_code == 400


def test_a_manager_records_work_on_their_property_and_takes_back_an_error(cast):
    body = {
        "person": str(cast.member.id),
        "property": str(cast.north.id),
        "worked_on": "2025-10-30",
        "hours": "4.5",
        "what": "Mended the gate",
    }
    manager = cast.client(cast.manager)
    made = manager.post("/api/v1/work-days/", body, format="json")
    assert made.status_code == 201, made.data
    own = cast.client(cast.member)
    assert own.get(made["Location"]).data["hours"] == "4.50"
    assert own.post(f"{made['Location']}withdraw/", {}, format="json").status_code == 403
    manager.post(f"{made['Location']}withdraw/", {"reason": "Twice"}, format="json")
    assert WorkDay.objects.get().withdrawn_at == NOW
    later = {**body, "worked_on": "2025-11-03"}
    assert manager.post("/api/v1/work-days/", later, format="json").status_code == 400


def test_a_dry_run_says_what_would_be_done_and_does_nothing(cast):
    recorded = AuditEvent.objects.count()
    tried = send(cast, "dues", dues_of(cast), dry_run=True)
    assert tried.status_code == 200, tried.data
    assert (tried.data["read"], tried.data["created"], tried.data["written"]) == (2, 2, False)
    assert not Due.objects.exists()
    assert AuditEvent.objects.count() == recorded


def test_a_list_is_entered_once_and_the_second_time_changes_what_differs(cast):
    assert send(cast, "dues", dues_of(cast)).data["created"] == 2
    assert send(cast, "dues", dues_of(cast)).data["unchanged"] == 2
    again = send(cast, "dues", dues_of(cast, paid="2025-07-31"))
    assert (again.status_code, again.data["changed"], again.data["unchanged"]) == (201, 1, 1)
    assert Due.objects.get(person=cast.member).paid_on == date(2025, 7, 31)
    assert Due.objects.get(person=cast.other_member).paid_on is None


def test_one_wrong_line_holds_back_all_and_is_named(cast):
    text = dues_of(cast) + "nobody@example.org,2025,450,2025-08-01,\n"
    refused = send(cast, "dues", text)
    assert refused.status_code == 400
    assert [error["pointer"] for error in refused.data["errors"]] == ["file/4/person"]
    assert "line 4, person" in refused.data["errors"][0]["detail"]
    assert not Due.objects.exists()


def test_papers_are_renewed_and_a_cell_that_is_empty_takes_nothing_away(cast):
    text = (
        "person,kind,expires_on,confirmed_on\n"
        f"{cast.member.email},licence,2027-02-28,\n"
        f"{cast.member.email},first_aid,,2025-10-01\n"
    )
    assert send(cast, "papers", text).data["changed"] == 1
    licence = Paper.objects.get(person=cast.member, kind="licence")
    assert (licence.expires_on, licence.confirmed_on) == (date(2027, 2, 28), date(2025, 8, 1))
    assert Paper.objects.get(person=cast.member, kind="first_aid").expires_on is None


def test_work_days_are_entered_by_the_propertys_name(cast):
    text = (
        "person,property,worked_on,hours,what\n"
        f"{cast.member.email},north,2025-08-16,4.5,Mowed\n"
        f"{cast.other_member.email},South,2025-08-16,8,Gate\n"
    )
    assert send(cast, "work_days", text).status_code == 201
    assert send(cast, "work_days", text).data["unchanged"] == 2
    assert WorkDay.objects.get(person=cast.member).hours == Decimal("4.5")
    bad = send(cast, "work_days", text.replace("South", "West").replace("4.5", "5"))
    assert {error["pointer"] for error in bad.data["errors"]} == {"file/2/hours", "file/3/property"}


def test_members_come_with_person_share_and_roles(cast):
    text = (
        "email,name,joined_on,share,properties\n"
        "ada@example.org,Ada Long,2025-03-01,2,North; South\n"
        f"{cast.member.email},Mia Member,2024-01-01,,\n"
    )
    entered = send(cast, "members", text)
    assert (entered.data["created"], entered.data["unchanged"]) == (1, 1)
    ada = Person.objects.get(email="ada@example.org")
    assert Member.objects.get(person=ada).entitlement_weight == 2
    roles = RoleGrant.objects.filter(person=ada, role=Role.MEMBER)
    assert set(roles.values_list("property__name", flat=True)) == {"North", "South"}
    assert RoleGrant.objects.filter(person=cast.member, revoked_at=None).count() == 1


@pytest.mark.parametrize(
    ("who", "status"), [("manager", 403), ("member", 403), ("landowner", 403), ("stranger", 400)]
)
def test_lists_are_the_coordinators(cast, who, status):
    refused = send(cast, "dues", dues_of(cast), who=getattr(cast, who))
    assert refused.status_code == status
    assert not Due.objects.exists()


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(seed=st.integers(0, 2**32), count=st.integers(1, 6))
def test_a_spoiled_list_leaves_all_of_it_or_nothing(cast, seed, count):
    Due.objects.all().delete()
    content = mutated(dues_of(cast).encode(), seed, count)
    entry = enter_bulk(
        actor=cast.actor(cast.coordinator),
        cooperative=cast.cooperative,
        kind=BulkKind.DUES,
        content=content,
        dry_run=False,
        now=NOW,
    )
    assert entry.written == (not entry.faults)
    assert Due.objects.count() == (entry.created if entry.written else 0)
    if entry.written:
        assert entry.read == entry.created + entry.changed + entry.unchanged

"""Persons, guests, memberships and papers over HTTP: who sees what, who may change it."""

import pytest
from django.utils import timezone

from coop.access.roles import Role
from coop.audit.models import AuditEvent
from properties.people.models import Member, Paper, Person
from tests.cast import grant, make_member, make_person

CONTACT = (
    "email",
    "phone",
    "vehicle",
    "units",
    "emergency_contact_name",
    "emergency_contact_phone",
)
GUEST = {
    "name": "Gus Guest",
    "phone": "555-0177",
    "emergency_contact_name": "Gail Guest",
    "emergency_contact_phone": "555-0178",
}


def persons(client, query=""):
    answer = client.get(f"/api/v1/persons/{query}")
    assert answer.status_code == 200, answer.data
    return {row["name"]: row for row in answer.data["results"]}


@pytest.mark.parametrize("reader", ["landowner", "other_member"])
def test_a_landowner_and_another_member_read_names_and_no_way_to_reach_anybody(cast, reader):
    grant(cast.other_member, Role.MEMBER, cast.north)
    client = cast.client(getattr(cast, reader))

    rows = persons(client, f"?property={cast.north.id}")
    one = client.get(f"/api/v1/persons/{cast.member.id}/")

    assert {"Mia Member", "Max Manager"} <= rows.keys()
    for shown in (rows["Mia Member"], one.data):
        assert shown["contact_shown"] is False
        assert [shown[name] for name in CONTACT] == [None] * len(CONTACT)
    assert b"555-0100" not in one.content
    assert b"555-0199" not in one.content


def test_a_manager_reads_how_to_reach_the_people_of_the_property_and_of_no_other(cast):
    rows = persons(cast.client(cast.manager))

    assert rows["Mia Member"]["phone"] == "555-0100"
    assert rows["Mia Member"]["emergency_contact_phone"] == "555-0199"
    assert "Otto Member" not in rows
    assert "Sid Stranger" not in rows


def test_everybody_reads_how_they_themselves_are_reached(cast):
    own = persons(cast.client(cast.landowner))["Lou Landowner"]

    assert own["contact_shown"] is True
    assert own["phone"] == "555-0100"


def test_a_coordinator_sees_all_of_the_cooperative_and_nobody_of_another(cast):
    rows = persons(cast.client(cast.coordinator))

    assert {"Mia Member", "Otto Member", "Lou Landowner"} <= rows.keys()
    assert "Sid Stranger" not in rows


@pytest.mark.parametrize("reader", ["member", "landowner", "manager", "stranger"])
def test_who_is_out_of_reach_is_not_found(cast, reader):
    client = cast.client(getattr(cast, reader))

    assert client.get(f"/api/v1/persons/{cast.other_member.id}/").status_code == 404


def test_an_application_sees_no_person(cast):
    assert persons(cast.application_client()) == {}


def test_asking_by_a_property_out_of_reach_tells_nothing_of_who_belongs_there(cast):
    grant(cast.member, Role.MEMBER, cast.south)
    visible_elsewhere = persons(cast.client(cast.manager))
    asked = persons(cast.client(cast.manager), f"?property={cast.south.id}")
    unknown = persons(cast.client(cast.manager), "?property=0193a1c2-0000-7000-8000-000000000001")

    assert "Mia Member" in visible_elsewhere
    assert asked == unknown == {}


def test_property_and_role_must_meet_in_one_grant(cast):
    grant(cast.manager, Role.MEMBER, cast.south)
    client = cast.client(cast.coordinator)

    assert persons(client, f"?property={cast.south.id}&role=manager") == {}
    assert persons(client, f"?property={cast.north.id}&role=manager").keys() == {"Max Manager"}


def test_a_search_looks_at_names_and_never_at_telephone_numbers(cast):
    client = cast.client(cast.landowner)

    assert "Mia Member" in persons(client, "?search=mia")
    assert persons(client, "?search=555-0100") == {}


def test_the_list_costs_as_many_queries_for_many_as_for_few(cast, django_assert_max_num_queries):
    for number in range(12):
        make_member(cast.cooperative, f"Member {number}", cast.north)
    client = cast.client(cast.manager)

    with django_assert_max_num_queries(12):
        assert len(persons(client)) >= 14


def test_a_member_changes_their_own_telephone_number_and_not_their_name(cast):
    client = cast.client(cast.member)
    url = f"/api/v1/persons/{cast.member.id}/"
    phone = client.patch(url, {"phone": "555-0111"}, HTTP_IF_MATCH=client.get(url)["ETag"])
    name = client.patch(url, {"name": "Mickey"}, HTTP_IF_MATCH=phone["ETag"])

    assert (phone.status_code, name.status_code) == (200, 403)
    assert phone.data["phone"] == "555-0111"
    cast.member.refresh_from_db()
    assert cast.member.name == "Mia Member"
    assert AuditEvent.objects.get(object_id=str(cast.member.id)).before["phone"] == "555-0100"


@pytest.mark.parametrize(
    ("writer", "status"), [("manager", 200), ("coordinator", 200), ("landowner", 403)]
)
def test_managers_change_the_people_they_reach(cast, writer, status):
    client = cast.client(getattr(cast, writer))
    url = f"/api/v1/persons/{cast.member.id}/"

    answer = client.patch(url, {"phone": "555-0122"}, HTTP_IF_MATCH=client.get(url)["ETag"])

    assert answer.status_code == status


def rename(cast, writer, person, name="Ada Newname"):
    url = f"/api/v1/persons/{person.id}/"
    client = cast.client(getattr(cast, writer))
    answer = client.patch(url, {"name": name, "phone": "555-0133"}, HTTP_IF_MATCH="*")
    person.refresh_from_db()
    return answer


def test_a_name_is_changed_by_whoever_manages_every_property_of_that_person(cast):
    assert rename(cast, "manager", cast.landowner).status_code == 200

    grant(cast.landowner, Role.LANDOWNER, cast.south)
    refused = rename(cast, "manager", cast.landowner, "Other Name")
    assert refused.status_code == 403
    assert "every property" in refused.data["detail"]
    assert cast.landowner.name == "Ada Newname"

    client, url = cast.client(cast.manager), f"/api/v1/persons/{cast.landowner.id}/"
    contact = client.patch(url, {"name": "Ada Newname", "phone": "555-0134"}, HTTP_IF_MATCH="*")
    assert (contact.status_code, contact.data["phone"]) == (200, "555-0134")

    assert rename(cast, "coordinator", cast.landowner, "Other Name").status_code == 200
    grant(cast.manager, Role.MANAGER, cast.south)
    assert rename(cast, "manager", cast.landowner, "Third Name").status_code == 200


def test_a_role_that_ended_does_not_hold_a_name(cast):
    ended = grant(cast.landowner, Role.LANDOWNER, cast.south)
    ended.revoked_at = timezone.now()
    ended.save()

    assert rename(cast, "manager", cast.landowner).status_code == 200


def test_a_coordinator_is_renamed_by_a_coordinator_alone(cast):
    grant(cast.coordinator, Role.MEMBER, cast.north)

    assert rename(cast, "manager", cast.coordinator).status_code == 403
    assert rename(cast, "coordinator", cast.coordinator).status_code == 200


def test_a_guest_is_renamed_by_the_host_and_by_whoever_may_rename_the_host(cast):
    grant(cast.member, Role.MEMBER, cast.south)
    guest = Person.objects.get(
        id=cast.client(cast.member).post("/api/v1/guests/", GUEST).data["id"]
    )

    assert rename(cast, "manager", guest).status_code == 403
    assert rename(cast, "member", guest).status_code == 200
    assert rename(cast, "coordinator", guest, "Gus Other").status_code == 200


@pytest.mark.parametrize(
    ("writer", "status"), [("coordinator", 201), ("manager", 403), ("member", 403)]
)
def test_only_a_coordinator_adds_a_person(cast, writer, status):
    answer = cast.client(getattr(cast, writer)).post(
        "/api/v1/persons/", {"cooperative": cast.cooperative.id, "name": "Nell New"}
    )

    assert answer.status_code == status
    assert Person.objects.filter(name="Nell New").exists() is (status == 201)


def test_a_coordinator_adds_nobody_to_another_cooperative(cast):
    answer = cast.client(cast.coordinator).post(
        "/api/v1/persons/", {"cooperative": cast.foreign.cooperative_id, "name": "Nell New"}
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/cooperative"


def test_a_member_brings_a_guest_whom_others_know_by_name_only(cast):
    made = cast.client(cast.member).post("/api/v1/guests/", GUEST)
    assert made.status_code == 201, made.data
    assert made.data["host"] == str(cast.member.id)
    assert made.data["phone"] == "555-0177"

    url = f"/api/v1/guests/{made.data['id']}/"
    seen = cast.client(cast.landowner).get(url)
    assert (seen.data["name"], seen.data["phone"]) == ("Gus Guest", None)
    assert cast.client(cast.manager).get(url).data["phone"] == "555-0177"
    assert cast.client(cast.other_member).get(url).status_code == 404
    assert cast.client(cast.stranger).get(url).status_code == 404


def test_a_guest_needs_somebody_to_call(cast):
    body = {**GUEST, "emergency_contact_phone": ""}
    answer = cast.client(cast.member).post("/api/v1/guests/", body)

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/emergency_contact_phone"


def test_the_emergency_contact_of_a_guest_cannot_be_taken_away(cast):
    client = cast.client(cast.member)
    guest = client.post("/api/v1/guests/", GUEST).data
    answer = client.patch(
        f"/api/v1/persons/{guest['id']}/", {"emergency_contact_name": ""}, HTTP_IF_MATCH='"1"'
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/emergency_contact_name"


@pytest.mark.parametrize(
    ("writer", "status"), [("manager", 201), ("coordinator", 201), ("landowner", 403)]
)
def test_a_guest_of_somebody_else_is_added_by_their_manager(cast, writer, status):
    answer = cast.client(getattr(cast, writer)).post(
        "/api/v1/guests/", {**GUEST, "host": cast.member.id}
    )

    assert answer.status_code == status


def test_an_application_brings_no_guest(cast):
    assert cast.application_client().post("/api/v1/guests/", GUEST).status_code == 403


def test_only_the_host_and_the_manager_retire_a_guest(cast):
    grant(cast.other_member, Role.MEMBER, cast.north)
    guest = cast.client(cast.member).post("/api/v1/guests/", GUEST).data
    url = f"/api/v1/guests/{guest['id']}/retire/"

    assert cast.client(cast.other_member).post(url).status_code == 403
    assert cast.client(cast.member).post(url).data["retired_at"] is not None


def test_memberships_are_read_by_managers_and_oneself_and_written_by_the_coordinator(cast):
    make_person(cast.cooperative, "Nell New")
    url = f"/api/v1/members/{cast.member.member.id}/"
    own = cast.client(cast.member).get("/api/v1/members/")

    assert [row["name"] for row in own.data["results"]] == ["Mia Member"]
    assert cast.client(cast.landowner).get(url).status_code == 404
    assert cast.client(cast.manager).get(url).status_code == 200
    change = {"entitlement_weight": 2}
    assert cast.client(cast.manager).patch(url, change, HTTP_IF_MATCH='"1"').status_code == 403
    assert cast.client(cast.coordinator).patch(url, change, HTTP_IF_MATCH='"1"').status_code == 200
    assert Member.objects.get(person=cast.member).entitlement_weight == 2


def test_a_share_of_nothing_is_no_membership(cast):
    answer = cast.client(cast.coordinator).patch(
        f"/api/v1/members/{cast.member.member.id}/",
        {"entitlement_weight": 0},
        HTTP_IF_MATCH='"1"',
    )

    assert answer.status_code == 400


@pytest.mark.parametrize(("points", "status"), [(0, 200), (10, 200), (11, 400), (-1, 400)])
def test_priority_is_given_by_the_coordinator_within_bounds(cast, points, status):
    url = f"/api/v1/members/{cast.member.member.id}/"
    change = {"priority_points": points}
    answer = cast.client(cast.coordinator).patch(url, change, HTTP_IF_MATCH='"1"')
    assert answer.status_code == status


def test_papers_are_seen_by_whoever_holds_them_and_by_their_manager(cast):
    url = f"/api/v1/papers/{cast.member.papers.first().id}/"

    assert cast.client(cast.member).get(url).status_code == 200
    assert cast.client(cast.manager).get(url).status_code == 200
    assert cast.client(cast.landowner).get(url).status_code == 404
    assert cast.client(cast.other_member).get(url).status_code == 404
    assert cast.client(cast.landowner).get("/api/v1/papers/").data["results"] == []


def test_nobody_confirms_their_own_paper(cast):
    client = cast.client(cast.member)
    paper = cast.member.papers.first()
    body = {"person": cast.member.id, "kind": "first_aid", "expires_on": "2027-01-01"}
    change = {"expires_on": "2030-01-01"}

    assert client.post("/api/v1/papers/", body).status_code == 403
    url = f"/api/v1/papers/{paper.id}/"
    assert client.patch(url, change, HTTP_IF_MATCH='"1"').status_code == 403
    renewed = cast.client(cast.manager).patch(url, change, HTTP_IF_MATCH='"1"')
    assert renewed.data["expires_on"] == "2030-01-01"
    paper.refresh_from_db()
    assert str(paper.expires_on) == "2030-01-01"


def test_a_manager_records_a_paper_and_finds_those_that_expire(cast):
    client = cast.client(cast.manager)
    made = client.post(
        "/api/v1/papers/",
        {"person": cast.member.id, "kind": "first_aid", "expires_on": "2025-12-01"},
    )
    found = client.get("/api/v1/papers/?expires_before=2026-01-01")

    assert made.status_code == 201
    assert [row["kind"] for row in found.data["results"]] == ["first_aid"]
    again = client.post("/api/v1/papers/", {"person": cast.member.id, "kind": "first_aid"})
    assert again.status_code == 400
    assert Paper.objects.filter(kind="first_aid").count() == 1

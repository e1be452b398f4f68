"""Roles, shares and outfitters over HTTP: granted by coordinators, ended at once."""

import base64

import pytest

from coop.access.roles import Role
from coop.outbox.models import Fact
from properties.people.models import Member, Outfitter, PropertyShare, RoleGrant
from tests.cast import grant, make_person


def test_a_coordinator_grants_a_role_and_the_membership_begins(cast):
    newcomer = make_person(cast.cooperative, "Nell New")
    before = cast.client(newcomer).get("/api/v1/properties/").data["results"]
    answer = cast.client(cast.coordinator).post(
        "/api/v1/roles/", {"person": newcomer.id, "role": "member", "property": cast.north.id}
    )

    assert answer.status_code == 201, answer.data
    after = cast.client(newcomer).get("/api/v1/properties/").data["results"]
    assert (before, [row["name"] for row in after]) == ([], ["North"])
    assert Member.objects.get(person=newcomer).entitlement_weight == 1


@pytest.mark.parametrize("writer", ["manager", "member", "landowner"])
def test_nobody_but_a_coordinator_grants_or_revokes_a_role(cast, writer):
    client = cast.client(getattr(cast, writer))
    body = {"person": getattr(cast, writer).id, "role": "manager", "property": cast.north.id}

    assert client.post("/api/v1/roles/", body).status_code == 403
    standing = RoleGrant.objects.get(person=cast.member, property=cast.north)
    refused = client.post(f"/api/v1/roles/{standing.id}/revoke/")
    assert refused.status_code == (403 if writer == "manager" else 404)
    standing.refresh_from_db()
    assert standing.revoked_at is None


def test_a_revoked_role_ends_at_once_and_the_fact_is_told(cast):
    client = cast.client(cast.member)
    assert client.get(f"/api/v1/properties/{cast.north.id}/").status_code == 200
    standing = RoleGrant.objects.get(person=cast.member, property=cast.north)

    answer = cast.client(cast.coordinator).post(f"/api/v1/roles/{standing.id}/revoke/")

    assert answer.status_code == 200
    assert client.get(f"/api/v1/properties/{cast.north.id}/").status_code == 404
    fact = Fact.objects.get(topic="role.revoked")
    assert fact.ids == {
        "role_grant": str(standing.id),
        "person": str(cast.member.id),
        "property": str(cast.north.id),
    }


def test_revoking_twice_tells_the_fact_once(cast):
    client = cast.client(cast.coordinator)
    standing = RoleGrant.objects.get(person=cast.member, property=cast.north)
    for _ in range(2):
        assert client.post(f"/api/v1/roles/{standing.id}/revoke/").status_code == 200

    assert Fact.objects.filter(topic="role.revoked").count() == 1


def test_the_last_coordinator_stays(cast):
    client = cast.client(cast.coordinator)
    standing = RoleGrant.objects.get(role=Role.COORDINATOR)
    alone = client.post(f"/api/v1/roles/{standing.id}/revoke/")
    grant(make_person(cast.cooperative, "Cleo Second"), Role.COORDINATOR, cast.cooperative)
    with_another = client.post(f"/api/v1/roles/{standing.id}/revoke/")

    assert (alone.status_code, alone.data["code"]) == (409, "last_coordinator")
    assert with_another.status_code == 200
    assert client.get("/api/v1/persons/").data["results"][0]["name"] == "Cora Coordinator"


def test_whoever_leaves_loses_every_role_and_their_token_opens_nothing(cast):
    grant(cast.member, Role.MEMBER, cast.south)
    client = cast.client(cast.member)
    url = f"/api/v1/persons/{cast.member.id}/retire/"

    assert client.post(url).status_code == 403
    assert cast.client(cast.manager).post(url).status_code == 403
    assert cast.client(cast.coordinator).post(url).data["retired_at"] is not None
    assert Fact.objects.filter(topic="role.revoked").count() == 2
    assert client.get("/api/v1/properties/").data["results"] == []
    assert client.get("/api/v1/persons/").data["results"] == []


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"role": "coordinator", "property": "north"}, "#/cooperative"),
        ({"role": "member", "cooperative": "cooperative"}, "#/property"),
        ({"role": "member"}, "#/property"),
        ({"role": "application", "property": "north"}, "#/role"),
        ({"role": "member", "property": "north", "person": "stranger"}, "#/person"),
        ({"role": "member", "property": "foreign"}, "#/property"),
        ({"role": "member", "property": "north", "person": "member"}, "#/person"),
    ],
)
def test_a_role_is_held_where_it_belongs(cast, body, pointer):
    ids = {
        name: getattr(cast, value).id if name != "role" else value
        for name, value in {"person": "landowner", **body}.items()
    }
    before = RoleGrant.objects.count()
    answer = cast.client(cast.coordinator).post("/api/v1/roles/", ids)

    assert answer.status_code == 400, answer.data
    assert pointer in [error["pointer"] for error in answer.data["errors"]]
    assert RoleGrant.objects.count() == before


def test_a_manager_reads_the_roles_of_the_property_only(cast):
    rows = cast.client(cast.manager).get("/api/v1/roles/").data["results"]

    assert {row["name"] for row in rows} == {"Max Manager", "Lou Landowner", "Mia Member"}
    assert cast.client(cast.member).get("/api/v1/roles/").data["results"] == []


def test_me_tells_who_one_is_and_which_roles_one_holds(cast):
    mine = cast.client(cast.member).get("/api/v1/me/").data
    application = cast.application_client().get("/api/v1/me/").data

    assert mine["person"]["id"] == str(cast.member.id)
    assert mine["person"]["phone"] == "555-0100"
    assert mine["units"] == "us"
    assert [(row["name"], row["roles"]) for row in mine["properties"]] == [("North", ["member"])]
    assert (application["kind"], application["person"]) == ("application", None)
    assert [row["name"] for row in application["properties"]] == ["North"]


def test_an_unknown_caller_has_no_me(cast, client):
    assert client.get("/api/v1/me/").status_code == 401


def test_the_secret_of_an_outfitters_application_is_told_once_and_works(cast, client):
    coordinator = cast.client(cast.coordinator)
    made = coordinator.post(
        "/api/v1/outfitters/", {"cooperative": cast.cooperative.id, "name": "Bluff Outfitters"}
    )
    assert made.status_code == 201, made.data
    assert made["Cache-Control"] == "no-store"
    shown = coordinator.get(f"/api/v1/outfitters/{made.data['id']}/").data
    assert "client_secret" not in shown

    secret = made.data["client_secret"]
    stored = Outfitter.objects.get(id=made.data["id"]).application
    assert secret not in stored.client_secret
    assert ask_token(client, made.data["client_id"], secret).status_code == 200

    renewed = coordinator.post(f"/api/v1/outfitters/{made.data['id']}/renew-secret/").data
    assert ask_token(client, made.data["client_id"], secret).status_code == 401
    assert ask_token(client, renewed["client_id"], renewed["client_secret"]).status_code == 200


def ask_token(client, client_id, client_secret):
    credential = base64.b64encode(f"{client_id}:{client_secret}".encode()).decode()
    return client.post(
        "/oauth/token/",
        {"grant_type": "client_credentials"},
        HTTP_AUTHORIZATION=f"Basic {credential}",
    )


@pytest.mark.parametrize("writer", ["manager", "member", "landowner"])
def test_nobody_but_a_coordinator_deals_with_outfitters(cast, writer):
    client = cast.client(getattr(cast, writer))
    made = client.post("/api/v1/outfitters/", {"cooperative": cast.cooperative.id, "name": "Mine"})
    renewed = client.post(f"/api/v1/outfitters/{cast.outfitter.id}/renew-secret/")

    assert made.status_code == 403
    assert renewed.status_code == (403 if writer == "manager" else 404)
    assert Outfitter.objects.count() == 1


def test_a_share_lets_the_application_in_and_its_end_lets_it_out_at_once(cast):
    application = cast.application_client()
    coordinator = cast.client(cast.coordinator)
    made = coordinator.post(
        "/api/v1/shares/", {"outfitter": cast.outfitter.id, "property": cast.south.id}
    )
    assert made.status_code == 201, made.data
    shared = application.get("/api/v1/properties/").data["results"]
    revoked = coordinator.post(f"/api/v1/shares/{made.data['id']}/revoke/")

    assert {row["name"] for row in shared} == {"North", "South"}
    assert revoked.data["revoked_at"] is not None
    left = application.get("/api/v1/properties/").data["results"]
    assert [row["name"] for row in left] == ["North"]
    fact = Fact.objects.get(topic="share.revoked")
    assert fact.ids["property"] == str(cast.south.id)
    assert fact.ids["outfitter"] == str(cast.outfitter.id)


def test_a_property_of_another_cooperative_cannot_be_shared(cast):
    answer = cast.client(cast.coordinator).post(
        "/api/v1/shares/", {"outfitter": cast.outfitter.id, "property": cast.foreign.id}
    )

    assert answer.status_code == 400
    assert PropertyShare.objects.count() == 1


def test_a_retired_outfitter_loses_every_share_and_token(cast):
    application = cast.application_client()
    assert application.get("/api/v1/properties/").status_code == 200

    cast.client(cast.coordinator).post(f"/api/v1/outfitters/{cast.outfitter.id}/retire/")

    assert application.get("/api/v1/properties/").status_code == 401
    assert not PropertyShare.objects.filter(revoked_at=None).exists()
    assert Fact.objects.filter(topic="share.revoked").count() == 1


def test_a_manager_sees_only_outfitters_that_share_the_property(cast):
    other = Outfitter.objects.create(cooperative=cast.cooperative, name="Elsewhere Outfitters")
    PropertyShare.objects.create(outfitter=other, property=cast.south)
    client = cast.client(cast.manager)

    rows = client.get("/api/v1/outfitters/").data["results"]

    assert [row["name"] for row in rows] == ["Ridge Outfitters"]
    assert client.get(f"/api/v1/outfitters/{other.id}/").status_code == 404
    assert [row["property"] for row in client.get("/api/v1/shares/").data["results"]] == [
        str(cast.north.id)
    ]

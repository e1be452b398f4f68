"""Leases over HTTP: kept by managers, read by their landowner, told in part to everybody."""

from datetime import date

import pytest
from django.db.models import QuerySet

from coop.audit.models import AuditEvent
from properties.land.models import Property
from properties.leases.models import Lease, Rent
from tests.cast import grant, make_person
from tests.properties.leases.plots import leased

URL = "/api/v1/leases/"


def body(cast, **changes):
    return {
        "property": str(cast.north.id),
        "landowner": str(cast.landowner.id),
        "first_on": "2025-08-01",
        "last_on": "2026-07-31",
        "people": ["members"],
        "weapons": ["bow"],
        "cameras": "not_transmitting",
        "scents": [],
        "feed": False,
        "vehicles": False,
        **changes,
    }


def rent(lease, **changes):
    fields = {"amount": "2400.50", "currency": "USD", "due_on": date(2026, 2, 1), **changes}
    return Rent.objects.create(lease=lease, **fields)


def test_a_manager_enters_a_lease_and_what_it_leaves_out_stays_unsaid(cast):
    answer = cast.client(cast.manager).post(URL, body(cast), format="json")

    assert answer.status_code == 201, answer.data
    assert answer.data["most_hunters"] is None
    assert answer.data["scents"] == []
    assert "contract" in answer.data["notice"]
    assert AuditEvent.objects.filter(object_kind="properties.lease").count() == 1


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"last_on": "2025-07-31"}, "#/last_on"),
        ({"people": []}, "#/people"),
        ({"people": ["cousins"]}, "#/people/0"),
        ({"weapons": ["catapult"]}, "#/weapons/0"),
        ({"cameras": "some"}, "#/cameras"),
        ({"most_hunters": 0}, "#/most_hunters"),
        ({"renewal_notice_on": "2026-08-01"}, "#/renewal_notice_on"),
    ],
)
def test_a_lease_that_cannot_be_is_refused_by_field(cast, changed, pointer):
    answer = cast.client(cast.manager).post(URL, body(cast, **changed), format="json")

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize(
    ("writer", "status"),
    [("coordinator", 201), ("manager", 201), ("member", 403), ("landowner", 403)],
)
def test_managers_and_coordinators_keep_leases(cast, writer, status):
    client = cast.client(getattr(cast, writer))
    asked = body(cast)
    if writer == "landowner":
        # Whoever may not write may see the property and themselves all the same.
        assert client.get(f"/api/v1/properties/{cast.north.id}/").status_code == 200

    assert client.post(URL, asked, format="json").status_code == status


def test_two_leases_in_force_on_one_day_are_refused_and_one_after_the_other_are_not(cast):
    leased(cast)
    client = cast.client(cast.manager)

    over = client.post(URL, body(cast, first_on="2026-07-31", last_on="2027-07-31"), format="json")
    after = client.post(URL, body(cast, first_on="2026-08-01", last_on="2027-07-31"), format="json")

    assert (over.status_code, over.data["code"]) == (409, "leases_overlap")
    assert after.status_code == 201


def test_a_term_may_not_be_stretched_over_the_next_lease(cast):
    lease = leased(cast)
    leased(cast, first_on=date(2026, 8, 1), last_on=date(2027, 7, 31))
    client = cast.client(cast.manager)

    answer = client.patch(
        f"{URL}{lease.id}/", {"last_on": "2026-08-01"}, format="json", HTTP_IF_MATCH='"1"'
    )

    assert (answer.status_code, answer.data["code"]) == (409, "leases_overlap")
    lease.refresh_from_db()
    assert lease.last_on == date(2026, 7, 31)


def test_a_withdrawn_lease_makes_room_and_is_not_told_any_more(cast):
    lease = leased(cast)
    client = cast.client(cast.manager)

    answer = client.post(f"{URL}{lease.id}/withdraw/", {"reason": "Wrong year"}, format="json")

    assert answer.status_code == 200
    assert answer.data["withdrawn_at"] is not None
    assert client.post(URL, body(cast), format="json").status_code == 201
    told = cast.client(cast.member).get(f"/api/v1/lease-terms/?property={cast.north.id}")
    assert [row["id"] for row in told.data["results"]] != [str(lease.id)]
    assert Lease.objects.count() == 2


def test_a_member_reads_what_is_permitted_and_until_when_and_nothing_else(cast):
    lease = leased(cast, weapons=["bow"], notes="Rent is paid in cash.")
    rent(lease)
    client = cast.client(cast.member)

    told = client.get(f"/api/v1/lease-terms/{lease.id}/")

    assert told.status_code == 200
    assert told.data["weapons"] == ["bow"]
    assert told.data["last_on"] == "2026-07-31"
    hidden = {"landowner", "renewal_notice_on", "insured_until", "notes", "rents"}
    assert hidden.isdisjoint(told.data)
    assert client.get(f"{URL}{lease.id}/").status_code == 404
    assert client.get("/api/v1/rents/").json()["results"] == []


def test_a_landowner_reads_their_own_lease_and_rent_and_no_other(cast):
    other = make_person(cast.cooperative, "Lea Landlady")
    grant(other, "landowner", cast.north)
    own = rent(leased(cast))
    theirs = rent(
        leased(cast, landowner=other, first_on=date(2026, 8, 1), last_on=date(2027, 7, 31))
    )
    client = cast.client(cast.landowner)

    assert client.get(f"/api/v1/rents/{own.id}/").data["amount"] == "2400.50"
    assert client.get(f"/api/v1/rents/{theirs.id}/").status_code == 404
    assert [row["id"] for row in client.get(URL).data["results"]] == [str(own.lease_id)]
    assert client.get(f"{URL}{theirs.lease_id}/").status_code == 404


def test_a_landlord_without_a_role_there_any_more_reads_nothing(cast):
    lease = leased(cast)
    cast.landowner.role_grants.update(revoked_at="2025-10-01T00:00:00Z")

    assert cast.client(cast.landowner).get(f"{URL}{lease.id}/").status_code == 404


def test_rent_is_entered_and_marked_paid(cast):
    lease = leased(cast)
    client = cast.client(cast.manager)
    made = client.post(
        "/api/v1/rents/",
        {"lease": str(lease.id), "amount": "1200.00", "currency": "USD", "due_on": "2026-02-01"},
        format="json",
    )
    assert made.status_code == 201, made.data
    url = f"/api/v1/rents/{made.data['id']}/"

    paid = client.patch(url, {"paid_on": "2026-01-30"}, format="json", HTTP_IF_MATCH='"1"')

    assert (paid.status_code, paid.data["paid_on"]) == (200, "2026-01-30")
    assert client.get("/api/v1/rents/?paid=false").data["results"] == []


def test_no_rent_is_entered_under_a_lease_that_was_withdrawn(cast):
    lease = leased(cast)
    client = cast.client(cast.manager)
    withdrawn = client.post(f"{URL}{lease.id}/withdraw/", {"reason": "In error"}, format="json")
    asked = {"lease": str(lease.id), "amount": "1.00", "currency": "USD", "due_on": "2026-02-01"}
    answer = client.post("/api/v1/rents/", asked, format="json")

    assert (withdrawn.status_code, answer.status_code) == (200, 400)
    (error,) = answer.data["errors"]
    assert error["pointer"] == "#/lease"
    assert "withdrawn" in error["detail"]
    assert not Rent.objects.exists()


@pytest.mark.parametrize("changed", [{"currency": "usd"}, {"currency": "$"}, {"amount": "-1"}])
def test_a_sum_that_is_none_is_refused(cast, changed):
    asked = {
        "lease": str(leased(cast).id),
        "amount": "1200.00",
        "currency": "USD",
        "due_on": "2026-02-01",
    }

    answer = cast.client(cast.manager).post("/api/v1/rents/", {**asked, **changed}, format="json")

    assert answer.status_code == 400


def test_a_person_of_another_cooperative_is_no_landowner_here(cast):
    answer = cast.client(cast.manager).post(
        URL, body(cast, landowner=str(cast.stranger.id)), format="json"
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/landowner"


@pytest.mark.parametrize("verb", ["enter", "change", "withdraw"])
def test_every_verb_locks_the_property_before_a_lease(cast, monkeypatch, verb):
    """Locked the other way round by one of them, two at a time would wait for each other."""
    lease = leased(cast)
    client = cast.client(cast.manager)
    locked = []
    lock = QuerySet.select_for_update

    def noted(rows, *args, **options):
        if rows.model in (Property, Lease):
            locked.append(rows.model)
        return lock(rows, *args, **options)

    monkeypatch.setattr(QuerySet, "select_for_update", noted)
    if verb == "enter":
        following = body(cast, first_on="2026-08-01", last_on="2027-07-31")
        answer = client.post(URL, following, format="json")
    elif verb == "change":
        answer = client.patch(f"{URL}{lease.id}/", {"feed": True}, format="json", HTTP_IF_MATCH="*")
    else:
        answer = client.post(f"{URL}{lease.id}/withdraw/", {"reason": "twice"}, format="json")

    assert answer.status_code in (200, 201), answer.data
    assert locked[0] is Property
    assert Lease in locked

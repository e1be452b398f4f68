"""Stands open, close, pass and fail inspections, and exclude each other."""

from datetime import date

from coop.access.roles import Role
from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from properties.stands.models import Inspection, StandExclusion
from tests.cast import grant, make_stand


def test_closing_and_opening_tell_their_facts_once(cast):
    stand = make_stand(cast.north, "Oak point")
    client = cast.client(cast.manager)
    url = f"/api/v1/stands/{stand.id}/"

    closed = client.post(f"{url}close/", {"reason": "Wasps"})
    client.post(f"{url}close/", {"reason": "Many wasps"})
    opened = client.post(f"{url}open/", {"reason": "Wasps gone"})

    assert (closed.data["is_open"], closed.data["closed_reason"]) == (False, "Wasps")
    assert (opened.data["is_open"], opened.data["closed_reason"]) == (True, "")
    ids = {"stand": str(stand.id), "property": str(cast.north.id)}
    assert Fact.objects.get(topic="stand.closed").ids == ids
    assert Fact.objects.get(topic="stand.opened").ids == ids
    reasons = AuditEvent.objects.filter(object_id=str(stand.id)).order_by("id")
    assert list(reasons.values_list("reason", flat=True)) == ["Wasps", "Many wasps", "Wasps gone"]


def test_a_stand_is_not_closed_without_a_reason(cast):
    stand = make_stand(cast.north, "Oak point")
    answer = cast.client(cast.manager).post(f"/api/v1/stands/{stand.id}/close/", {})

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/reason"


def test_a_failed_inspection_closes_the_stand_and_it_stays_closed_until_one_is_passed(cast):
    stand = make_stand(cast.north, "Oak point")
    client = cast.client(cast.manager)
    url = f"/api/v1/stands/{stand.id}/"

    failed = client.post(f"{url}inspections/", {"inspected_on": "2025-10-01", "passed": False})
    refused = client.post(f"{url}open/", {"reason": "Looks fine"})
    passed = client.post(f"{url}inspections/", {"inspected_on": "2025-10-05", "passed": True})
    between = client.get(url).data
    opened = client.post(f"{url}open/", {"reason": "Strap replaced"})

    assert failed.status_code == 201, failed.data
    assert failed.data["inspected_by"] == "Max Manager"
    assert Fact.objects.filter(topic="stand.closed").count() == 1
    assert refused.status_code == 409
    assert refused.data["refusals"][0]["code"] == "inspection_failed"
    assert passed.status_code == 201
    assert between["is_open"] is False
    assert between["last_inspected_on"] == "2025-10-05"
    assert opened.data["is_open"] is True


def test_an_inspection_entered_late_does_not_undo_a_later_one(cast):
    stand = make_stand(cast.north, "Oak point", last_inspected_on=date(2025, 8, 15))
    client = cast.client(cast.manager)
    url = f"/api/v1/stands/{stand.id}/inspections/"

    client.post(url, {"inspected_on": "2025-07-01", "passed": False})
    client.post(url, {"inspected_on": "2025-06-01", "passed": True})

    stand.refresh_from_db()
    assert (stand.is_open, stand.last_inspected_on) == (True, date(2025, 8, 15))
    assert Inspection.objects.count() == 2


def test_no_inspection_lies_in_the_future(cast):
    stand = make_stand(cast.north, "Oak point")
    answer = cast.client(cast.manager).post(
        f"/api/v1/stands/{stand.id}/inspections/", {"inspected_on": "2999-01-01", "passed": True}
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/inspected_on"


def test_inspections_are_read_by_members_and_not_by_applications(cast):
    stand = make_stand(cast.north, "Oak point")
    Inspection.objects.create(
        stand=stand, inspected_on=date(2025, 8, 1), inspected_by="Max", passed=True
    )
    query = f"/api/v1/inspections/?stand={stand.id}"

    assert len(cast.client(cast.member).get(query).data["results"]) == 1
    assert cast.application_client().get(query).data["results"] == []
    assert cast.client(cast.other_member).get(query).data["results"] == []


def test_two_stands_exclude_each_other_once_whichever_is_named_first(cast):
    one, other = make_stand(cast.north, "One"), make_stand(cast.north, "Other")
    client = cast.client(cast.manager)
    made = client.post(
        "/api/v1/stand-exclusions/", {"first": other.id, "second": one.id, "reason": "In line"}
    )
    again = client.post(
        "/api/v1/stand-exclusions/", {"first": one.id, "second": other.id, "reason": "In line"}
    )
    itself = client.post(
        "/api/v1/stand-exclusions/", {"first": one.id, "second": one.id, "reason": "In line"}
    )

    assert made.status_code == 201, made.data
    assert (made.data["first"], made.data["second"]) == (str(one.id), str(other.id))
    assert again.status_code == itself.status_code == 400
    assert StandExclusion.objects.count() == 1


def test_an_exclusion_is_lifted_and_the_record_keeps_it(cast):
    one, other = make_stand(cast.north, "One"), make_stand(cast.north, "Other")
    exclusion = StandExclusion.objects.create(first=one, second=other, reason="In line")
    url = f"/api/v1/stand-exclusions/{exclusion.id}/"

    assert cast.client(cast.member).delete(url).status_code == 403
    assert cast.client(cast.stranger).delete(url).status_code == 404
    assert cast.client(cast.manager).delete(url).status_code == 204
    assert not StandExclusion.objects.exists()
    assert AuditEvent.objects.get(object_id=str(exclusion.id)).before["reason"] == "In line"


def test_an_exclusion_with_an_unseen_stand_is_not_seen(cast):
    one, other = make_stand(cast.north, "One"), make_stand(cast.south, "Other")
    StandExclusion.objects.create(first=one, second=other, reason="Across the fence")
    url = "/api/v1/stand-exclusions/"

    assert cast.client(cast.member).get(url).data["results"] == []
    refused = cast.client(cast.manager).post(
        url, {"first": one.id, "second": other.id, "reason": "Across the fence"}
    )
    assert refused.status_code == 400
    grant(cast.member, Role.MEMBER, cast.south)
    assert len(cast.client(cast.member).get(url).data["results"]) == 1

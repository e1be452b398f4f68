"""Getting there: the sheet of a sit, and gate codes on its day to those booked alone."""

from datetime import date, timedelta

import numpy as np
import pytest
import time_machine

from coop.access.actors import system_actor
from coop.access.roles import Role
from coop.audit.models import AuditEvent
from coop.outbox.models import Message
from properties.gates.models import DrivingDirections, Gate, ParkingPlace
from properties.gates.services import set_code
from properties.people.models import RoleGrant
from scheduling.arrival import queries
from scheduling.sits.life_services import cancel_sit, check_in, check_out
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.properties.leases.plots import leased
from tests.scheduling.sits.stage import DAY, booked, make_guest, make_stage

pytestmark = pytest.mark.django_db
ON_DAY = "2025-11-08T18:00:00+00:00"


@pytest.fixture
def stage(cast):
    return make_stage(cast)


@pytest.fixture
def gate(cast):
    made = {}
    for land, code in ((cast.north, "north-4711"), (cast.south, "south-0815")):
        row = Gate.objects.create(
            property=land, name="Main gate", longitude=-91.49, latitude=43.2, lock="code"
        )
        set_code(
            actor=system_actor("test"), gate=row, code=code, holds_from=date(2025, 9, 1), now=NOW
        )
        made[land.id] = row
    return made[cast.north.id]


def codes(stage, sit, person=None, at=ON_DAY):
    client = stage.cast.client(person or stage.cast.member)
    with time_machine.travel(at, tick=False):
        return client.get(f"/api/v1/sits/{sit.id}/gate-codes/")


def test_whoever_is_booked_reads_the_codes_of_that_property_on_the_day(stage, gate):
    sit = booked(stage)
    shown = codes(stage, sit)
    assert [(row["gate_name"], row["code"]) for row in shown.json()] == [
        ("Main gate", "north-4711")
    ]
    assert shown["Cache-Control"] == "no-store"
    event = AuditEvent.objects.get(action="gate_code:read")
    assert event.actor_name == stage.cast.member.name
    assert "Oak" in event.reason
    assert "4711" not in f"{event.before}{event.after}{event.reason}"


@pytest.mark.parametrize(
    ("at", "status"),
    [
        ("2025-11-08T05:59:59+00:00", 409),  # still the 7th at the property (UTC-6)
        ("2025-11-08T06:00:00+00:00", 200),
        ("2025-11-09T05:59:59+00:00", 200),
        ("2025-11-09T06:00:00+00:00", 409),
    ],
)
def test_the_day_is_that_of_the_property(stage, gate, at, status):
    answer = codes(stage, booked(stage), at=at)
    assert answer.status_code == status
    if status == 409:
        assert answer.json()["code"] == "not_the_day"
        assert "4711" not in answer.content.decode()


def test_who_was_cancelled_reads_no_code_and_who_checked_out_can_still_get_out(stage, gate):
    sit, cast = booked(stage), stage.cast
    check_in(actor=cast.actor(cast.member), sit=sit, now=sit.starts_at)
    check_out(actor=cast.actor(cast.member), sit=sit, now=sit.ends_at)
    assert codes(stage, sit, at=sit.ends_at).status_code == 200

    other = booked(stage, stage.ben, stage.creek)
    cancel_sit(actor=cast.actor(stage.ben), sit=other, reason="", now=NOW)
    assert codes(stage, other, stage.ben).status_code == 409


def test_others_are_told_nothing_of_it(stage, gate):
    sit, cast = booked(stage), stage.cast
    for person in (stage.ben, cast.other_member, cast.landowner, cast.stranger):
        assert codes(stage, sit, person).status_code == 404
    assert not AuditEvent.objects.filter(action="gate_code:read").exists()


def test_a_guest_is_let_in_by_the_host_and_managers_see_it_as_themselves(stage, gate):
    cast = stage.cast
    guest = make_guest(cast.member)
    booked(stage, guests=[guest])
    of_guest = Sit.objects.get(person=guest)
    assert codes(stage, of_guest).status_code == 200
    assert codes(stage, of_guest, cast.manager).status_code == 200
    readers = AuditEvent.objects.filter(action="gate_code:read").values_list(
        "actor_name", flat=True
    )
    assert set(readers) == {cast.member.name, cast.manager.name}


def test_whose_role_has_ended_reads_neither_code_nor_way(stage, gate):
    sit, member = booked(stage), stage.cast.member
    RoleGrant.objects.filter(person=member, role=Role.MEMBER).update(revoked_at=NOW)
    assert codes(stage, sit).status_code == 403
    answer = stage.cast.client(member).get(f"/api/v1/sits/{sit.id}/arrival/")
    assert answer.status_code == 403


def test_no_letter_tells_a_code(stage, gate):
    codes(stage, booked(stage))
    assert not [text for text in Message.objects.values_list("text", flat=True) if "4711" in text]


def arrival(stage, sit, person=None):
    return stage.cast.client(person or stage.cast.member).get(f"/api/v1/sits/{sit.id}/arrival/")


def test_the_sheet_tells_the_way_the_parking_and_the_gates_and_no_code(stage, gate):
    cast = stage.cast
    DrivingDirections.objects.create(
        property=cast.north, directions="Left after the bridge.", vehicle_rule="None past the barn."
    )
    ParkingPlace.objects.create(
        property=cast.north, name="Barn", longitude=-91.49, latitude=43.2, vehicles=3
    )
    answer = arrival(stage, booked(stage))
    sheet = answer.json()
    assert sheet["directions"] == "Left after the bridge."
    assert sheet["vehicle_rule"] == "None past the barn."
    assert [place["name"] for place in sheet["parking"]] == ["Barn"]
    assert [(each["name"], each["has_code"]) for each in sheet["gates"]] == [("Main gate", True)]
    assert "4711" not in answer.content.decode()


def test_a_vehicle_is_asked_for_until_it_is_entered(stage, gate):
    sit, member = booked(stage), stage.cast.member
    DrivingDirections.objects.create(property=stage.cast.north)
    assert arrival(stage, sit).json()["vehicle_missing"] is True
    member.vehicle = "Green pickup, DEER 1"
    member.save()
    sheet = arrival(stage, sit).json()
    assert (sheet["vehicle_missing"], sheet["vehicle"]) == (False, "Green pickup, DEER 1")


def test_without_a_rule_on_vehicles_none_is_asked_for(stage):
    DrivingDirections.objects.create(property=stage.cast.north, vehicle_needed=False)
    assert arrival(stage, booked(stage)).json()["vehicle_missing"] is False


def test_the_sheet_says_of_vehicles_what_the_briefing_says_of_the_lease(stage):
    sit = booked(stage)
    assert arrival(stage, sit).json()["lease_on_vehicles"] == ""
    leased(stage.cast, vehicles=False, vehicles_note="Park at the gate.")
    said = arrival(stage, sit).json()["lease_on_vehicles"]
    assert said == "The lease lets no vehicle on the land. Park at the gate."
    api = stage.cast.client(stage.cast.member)
    assert said in api.get(f"/api/v1/sits/{sit.id}/briefing/").content.decode()


def test_the_way_by_the_wind_is_the_best_that_wind_knows_of(stage, monkeypatch):
    """Each part's first of the ways that wind computed, which come with the best first."""
    from types import SimpleNamespace

    def way(part, name, fit):
        return SimpleNamespace(part=part, way=name, answer=SimpleNamespace(fit=fit))

    ways = (way("exit", "ride", 0.97), way("approach", "Creek path", 0.95), way("exit", "x", 0.94))
    monkeypatch.setattr(
        queries, "alternatives_to", lambda _row, now: SimpleNamespace(ways=ways, sessions=())
    )
    (evening,) = arrival(stage, booked(stage)).json()["ways"]
    assert evening["kind"] == "evening"
    assert evening["approach"] == {"way": "Creek path", "fit": 0.95}
    assert evening["exit"] == {"way": "ride", "fit": 0.97}


def test_a_day_of_two_sessions_has_a_way_for_each_and_its_own_where_none_is_better(stage):
    sheet = arrival(stage, booked(stage, span="all_day")).json()
    assert [each["kind"] for each in sheet["ways"]] == ["morning", "evening"]
    assert all(each["approach"] is None and each["exit"] is None for each in sheet["ways"])
    assert np.isclose(sheet["ways"][0]["fit"], 0.9)


def test_tomorrow_is_not_today(stage, gate):
    sit = booked(stage, day=DAY + timedelta(days=1))
    assert codes(stage, sit).status_code == 409

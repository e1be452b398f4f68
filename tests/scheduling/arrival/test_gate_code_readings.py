"""What the record of gate codes says of each reader, and to whom a sheet says they are shown."""

from datetime import date

import pytest
import time_machine

from coop.access.actors import system_actor
from properties.gates.models import Gate
from properties.gates.services import set_code
from scheduling.arrival import queries
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.scheduling.sits.stage import booked, make_guest, make_stage

ON_DAY = "2025-11-08T18:00:00+00:00"
WHERE = "at Oak, evening of 2025-11-08"


@pytest.fixture
def stage(cast):
    return make_stage(cast)


@pytest.fixture
def gate(cast):
    row = Gate.objects.create(
        property=cast.north, name="Main gate", longitude=-91.49, latitude=43.2, lock="code"
    )
    set_code(
        actor=system_actor("test"), gate=row, code="4711", holds_from=date(2025, 9, 1), now=NOW
    )
    return row


def read_codes(stage, sit, reader):
    client = stage.cast.client(reader)
    with time_machine.travel(ON_DAY, tick=False):
        return client.get(f"/api/v1/sits/{sit.id}/gate-codes/")


def readings(stage, gate):
    client = stage.cast.client(stage.cast.manager)
    rows = client.get(f"/api/v1/gates/{gate.id}/readings/").json()["results"]
    return [(row["reader"], row["why"]) for row in rows]


@pytest.mark.parametrize("role", ["manager", "coordinator"])
def test_who_reads_a_members_code_by_role_is_on_record_as_that_and_not_as_booked(stage, gate, role):
    sit, reader = booked(stage), getattr(stage.cast, role)

    assert read_codes(stage, sit, reader).status_code == 200

    assert readings(stage, gate) == [(reader.name, f"as {role}, for the sit of Mia Member {WHERE}")]


@pytest.mark.parametrize("role", ["manager", "coordinator"])
def test_who_looks_a_code_up_at_the_gate_is_on_record_by_the_role_that_lets_them(stage, gate, role):
    reader = getattr(stage.cast, role)
    assert stage.cast.client(reader).get(f"/api/v1/gates/{gate.id}/code/").status_code == 200
    assert readings(stage, gate) == [(reader.name, f"looked up as {role}")]


def test_whoever_is_booked_is_on_record_as_booked(stage, gate):
    assert read_codes(stage, booked(stage), stage.cast.member).status_code == 200
    assert readings(stage, gate) == [("Mia Member", f"booked {WHERE}")]


def test_a_host_who_reads_by_the_guests_sit_is_on_record_as_host(stage, gate):
    guest = make_guest(stage.cast.member)
    booked(stage, guests=[guest])
    sit = Sit.objects.get(person=guest)
    assert read_codes(stage, sit, stage.cast.member).status_code == 200
    assert readings(stage, gate) == [("Mia Member", f"as host, for the sit of Gus Guest {WHERE}")]


def notice(client, sit) -> str:
    return client.get(f"/api/v1/sits/{sit.id}/arrival/").json()["codes_notice"]


def test_an_outfitters_application_is_told_that_a_manager_gives_the_codes_to_its_client(
    stage, gate
):
    api = stage.cast.application_client()
    client = {
        "reference": "C-17",
        "name": "Cleo Client",
        "emergency_contact_name": "Kin of Cleo",
        "emergency_contact_phone": "555-0177",
        "papers": [{"kind": "licence", "expires_on": "2026-06-30"}, {"kind": "waiver"}],
    }
    wanted = {"stand": str(stage.oak.id), "local_date": "2025-11-08", "span": "evening"}
    with time_machine.travel(NOW, tick=False):
        made = api.post("/api/v1/sits/", {**wanted, "client": client})
    sit = Sit.objects.get(id=made.json()["id"])

    with time_machine.travel(ON_DAY, tick=False):
        refused = api.get(f"/api/v1/sits/{sit.id}/gate-codes/")

    assert refused.status_code == 403
    assert notice(api, sit) == (
        "Applications are shown no gate codes. A manager of the property gives them to your client."
    )


def test_the_sheet_says_to_whom_codes_are_shown_as_the_codes_are_shown(stage, gate):
    cast, sit = stage.cast, booked(stage)
    told = {person: notice(cast.client(person), sit) for person in (cast.member, cast.manager)}
    assert told[cast.member] == queries.CODES_NOTICE
    assert told[cast.manager] == queries.CODES_NOTICE_OF_KEEPER

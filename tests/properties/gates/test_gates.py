"""Gates and their codes: sealed, rotated by date, each reading on the record."""

from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection

from coop.audit.models import AuditEvent
from properties.gates.models import Gate, GateCode
from tests.cast import NOW

TODAY = date(2025, 11, 1)
pytestmark = pytest.mark.django_db


@pytest.fixture
def gate(cast):
    return Gate.objects.create(
        property=cast.north, name="South gate", longitude=-91.49, latitude=43.2, lock="code"
    )


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


def put_code(cast, gate, code, holds_from=TODAY, person=None):
    client = cast.client(person or cast.manager)
    body = {"code": code, "holds_from": str(holds_from)}
    return client.put(f"/api/v1/gates/{gate.id}/code/", body, format="json")


def read_code(cast, gate, person=None):
    return cast.client(person or cast.manager).get(f"/api/v1/gates/{gate.id}/code/")


def test_a_manager_sets_a_code_and_reads_it_and_is_on_the_record_for_it(cast, gate):
    told = put_code(cast, gate, "4711-blue")
    assert (told.status_code, "4711-blue" in told.content.decode()) == (200, False)

    shown = read_code(cast, gate)

    assert shown.json()["code"] == "4711-blue"
    assert shown["Cache-Control"] == "no-store"
    readings = cast.client(cast.manager).get(f"/api/v1/gates/{gate.id}/readings/").json()["results"]
    assert [(row["reader"], row["code"]) for row in readings] == [
        (cast.manager.name, str(GateCode.objects.get().id))
    ]


def test_a_new_code_holds_from_its_date_and_the_old_one_stays_sealed(cast, gate, at_now):
    put_code(cast, gate, "first", TODAY - timedelta(days=30))
    put_code(cast, gate, "second", TODAY + timedelta(days=1))
    assert read_code(cast, gate).json()["code"] == "first"

    # 04:59 UTC is still the first of November in the property's zone, 05:00 is the second.
    at_now.move_to("2025-11-02T04:59:00+00:00")
    assert read_code(cast, gate).json()["code"] == "first"
    at_now.move_to("2025-11-02T05:00:00+00:00")
    assert read_code(cast, gate).json()["code"] == "second"
    assert GateCode.objects.count() == 2


def test_a_code_entered_wrong_is_replaced_for_its_date(cast, gate):
    put_code(cast, gate, "wrong")
    put_code(cast, gate, "right")
    assert read_code(cast, gate).json()["code"] == "right"
    kept = cast.client(cast.manager).get(f"/api/v1/gates/{gate.id}/codes/").json()
    assert [row["replaced_at"] is None for row in kept] == [True, False]


def everything_stored():
    """Each table with all that its rows hold, as text; bytes as they lie there."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            for row in cursor.fetchall():
                yield table, " ".join(map(_as_text, row))


def _as_text(value):
    is_bytes = isinstance(value, bytes | memoryview)
    return bytes(value).decode("latin-1") if is_bytes else str(value)


def test_no_row_of_the_database_holds_a_code_in_clear(cast, gate):
    put_code(cast, gate, "CODEmark4711")
    read_code(cast, gate)
    cast.client(cast.manager).get(f"/api/v1/gates/{gate.id}/readings/")

    stored = list(everything_stored())

    assert [table for table, text in stored if "CODEmark" in text] == []
    assert [table for table, text in stored if "South gate" in text] == ["properties_gate"]
    assert any("gate_code:read" in text for _table, text in stored)


def test_no_line_of_a_log_holds_a_code(cast, gate, caplog):
    caplog.set_level("DEBUG")
    put_code(cast, gate, "CODEmark4711")
    assert put_code(cast, gate, "CODEmark\n").status_code == 400
    assert read_code(cast, gate).json()["code"] == "CODEmark4711"
    assert "CODEmark" not in caplog.text
    assert caplog.records


@pytest.mark.parametrize("who", ["member", "landowner", "stranger"])
def test_nobody_but_managers_reads_or_sets_a_code_at_the_gate(cast, gate, who):
    put_code(cast, gate, "4711")
    person = getattr(cast, who)
    expected = 403 if who == "member" else 404
    assert read_code(cast, gate, person).status_code == expected
    assert put_code(cast, gate, "0000", person=person).status_code == expected
    listing = cast.client(person).get(f"/api/v1/gates/{gate.id}/readings/")
    assert listing.status_code == expected
    assert AuditEvent.objects.filter(action="gate_code:read").count() == 0


def test_a_coordinator_reads_it_too(cast, gate):
    put_code(cast, gate, "4711")
    assert read_code(cast, gate, cast.coordinator).json()["code"] == "4711"


@pytest.mark.parametrize("code", ["", "   ", "x" * 41, "47\n11"])
def test_a_code_that_cannot_be_one_is_refused_and_not_repeated(cast, gate, code):
    answer = put_code(cast, gate, code)
    assert answer.status_code == 400
    assert not code.strip() or code.strip() not in answer.content.decode()


def test_a_gate_without_such_a_lock_has_no_code(cast, gate):
    gate.lock = "key"
    gate.save()
    assert put_code(cast, gate, "4711").status_code == 400
    assert read_code(cast, gate).status_code == 404


def test_a_lost_key_is_told_as_such_and_a_code_entered_anew_opens(cast, gate, settings):
    put_code(cast, gate, "4711")
    settings.SEALING_KEYS = ["another"]
    answer = read_code(cast, gate)
    assert (answer.status_code, answer.json()["code"]) == (503, "key_lost")
    assert not AuditEvent.objects.filter(action="gate_code:read").exists()
    put_code(cast, gate, "4712")
    assert read_code(cast, gate).json()["code"] == "4712"


def test_gates_are_edited_by_version_and_retired_once(cast, gate):
    client = cast.client(cast.manager)
    path = f"/api/v1/gates/{gate.id}/"
    assert client.patch(path, {"notes": "Cattle."}, format="json").status_code == 428
    tag = client.get(path)["ETag"]
    done = client.patch(path, {"notes": "Cattle."}, format="json", HTTP_IF_MATCH=tag)
    assert (done.status_code, done.json()["notes"]) == (200, "Cattle.")
    first = client.post(f"{path}retire/").json()["retired_at"]
    assert first == client.post(f"{path}retire/").json()["retired_at"]


def test_one_set_of_directions_for_a_property(cast):
    client = cast.client(cast.manager)
    body = {"property": str(cast.north.id), "directions": "Left after the bridge."}
    assert client.post("/api/v1/driving-directions/", body, format="json").status_code == 201
    assert client.post("/api/v1/driving-directions/", body, format="json").status_code == 400
    place = {**body, "name": "Barn", "longitude": -91.49, "latitude": 43.2, "vehicles": 4}
    place.pop("directions")
    assert client.post("/api/v1/parking-places/", place, format="json").status_code == 201
    assert client.post("/api/v1/parking-places/", place, format="json").status_code == 400

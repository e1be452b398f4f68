"""The sheet for helpers; declared emergencies; medical notes sealed, shown then, and told."""

from datetime import date, timedelta
from io import BytesIO

import pytest
import time_machine
from django.db import connection
from pypdf import PdfReader

from coop.access.roles import Role
from coop.audit.models import AuditEvent
from coop.outbox.models import Message
from properties.emergency.models import Emergency, EmergencySheet, MedicalNote, StandEmergency
from scheduling.sits.models import Sit
from tests.cast import NOW, grant, make_member, make_stand

pytestmark = pytest.mark.django_db
NOTE = "Bee stings: NOTEmark pen in the left pocket."


@pytest.fixture(autouse=True)
def at_now():
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


@pytest.fixture
def ben(cast):
    return make_member(cast.cooperative, "Ben Second", cast.north)


def sits_today(cast, person, land=None, day=date(2025, 11, 1)):
    land = land or cast.north
    stand = make_stand(land, f"Stand of {person.name} {day}")
    return Sit.objects.create(
        property=land,
        stand=stand,
        person=person,
        local_date=day,
        span="evening",
        starts_at=NOW + timedelta(hours=2),
        ends_at=NOW + timedelta(hours=6),
    )


def write_note(cast, person, text=NOTE):
    return cast.client(person).put("/api/v1/medical-notes/mine/", {"text": text}, format="json")


def declare(cast, by, person, land=None):
    body = {
        "property": str((land or cast.north).id),
        "person": str(person.id),
        "why": "Fell from the ladder.",
    }
    return cast.client(by).post("/api/v1/emergencies/", body, format="json")


def read_note(cast, by, emergency_id):
    return cast.client(by).get(f"/api/v1/emergencies/{emergency_id}/medical-note/")


@pytest.fixture
def declared(cast, ben):
    """Mia wrote a note; she and Ben are both out today; Ben declares."""
    write_note(cast, cast.member)
    sits_today(cast, cast.member)
    sits_today(cast, ben)
    return declare(cast, ben, cast.member).json()["id"]


def test_whoever_is_there_declares_for_whoever_is_there_and_reads_the_note(cast, ben, declared):
    answer = read_note(cast, ben, declared)
    shown = answer.json()
    assert answer["Cache-Control"] == "no-store"
    assert shown["text"] == NOTE
    assert shown["emergency_contact_name"] == f"Kin of {cast.member.name}"
    assert "no substitute" in shown["caution"]


def test_managers_and_the_person_are_told_at_once_and_of_each_reading(cast, ben, declared):
    subjects = {
        person.email: list(
            Message.objects.filter(recipient=person.email).values_list("subject", flat=True)
        )
        for person in (cast.manager, cast.coordinator, cast.member)
    }
    assert all("EMERGENCY declared" in told[0] for told in subjects.values())

    read_note(cast, ben, declared)
    read_note(cast, cast.manager, declared)

    told = Message.objects.filter(recipient=cast.member.email, subject__contains="note was read")
    assert told.count() == 2
    readings = cast.client(cast.member).get("/api/v1/medical-notes/readings/").json()["results"]
    assert [row["reader_name"] for row in readings] == [cast.manager.name, ben.name]
    assert AuditEvent.objects.filter(object_kind="properties.notereading").count() == 2
    assert not Message.objects.filter(text__contains="NOTEmark").exists()


def test_where_no_note_is_kept_null_is_shown_and_the_person_learns_who_asked(cast, ben):
    sits_today(cast, cast.member)
    sits_today(cast, ben)
    emergency_id = declare(cast, ben, cast.member).json()["id"]

    shown = read_note(cast, ben, emergency_id).json()

    assert shown["text"] is None
    assert shown["emergency_contact_name"] == f"Kin of {cast.member.name}"
    letter = Message.objects.get(recipient=cast.member.email, subject__contains="medical note")
    assert letter.subject == "Your medical note was asked for"
    assert "who keeps none" in letter.text
    assert "was shown" not in letter.text


def test_without_a_declared_emergency_nobody_reads_it_but_the_person(cast, ben):
    write_note(cast, cast.member)
    assert cast.client(cast.member).get("/api/v1/medical-notes/mine/").json()["text"] == NOTE
    for other in (ben, cast.manager, cast.coordinator):
        mine = cast.client(other).get("/api/v1/medical-notes/mine/").json()
        assert mine == {"text": None, "updated_at": None}
        person = cast.client(other).get(f"/api/v1/persons/{cast.member.id}/")
        assert "NOTEmark" not in person.content.decode()


def test_the_emergency_of_another_shows_nothing_to_those_beside_it(cast, declared):
    third = make_member(cast.cooperative, "Cleo Third", cast.north)
    sits_today(cast, third)
    for person in (third, cast.landowner, cast.other_member, cast.stranger):
        assert read_note(cast, person, declared).status_code == 404
    # The person sees that it was declared, and reads their own note where it is their own.
    assert read_note(cast, cast.member, declared).status_code == 403


@pytest.mark.parametrize(
    ("after", "status"),
    [
        (timedelta(hours=6) - timedelta(seconds=1), 200),
        (timedelta(hours=6), 409),
    ],
)
def test_it_stands_for_the_settings_hours_and_not_longer(
    cast, ben, declared, at_now, after, status
):
    at_now.move_to(NOW + after)
    answer = read_note(cast, ben, declared)
    assert answer.status_code == status
    if status == 409:
        assert answer.json()["code"] == "emergency_over"
        assert "NOTEmark" not in answer.content.decode()


def test_a_property_may_set_the_hours(cast, ben):
    cast.north.settings = {"emergency": {"declared_for_h": 1.5}}
    cast.north.save()
    sits_today(cast, cast.member)
    sits_today(cast, ben)
    declare(cast, ben, cast.member)
    assert Emergency.objects.get().ends_at == NOW + timedelta(hours=1.5)


def test_ending_it_ends_the_reading(cast, ben, declared):
    ended = cast.client(cast.member).post(f"/api/v1/emergencies/{declared}/end/")
    assert ended.json()["ended_at"] is not None
    assert read_note(cast, ben, declared).status_code == 409
    again = cast.client(cast.manager).post(f"/api/v1/emergencies/{declared}/end/")
    assert again.json()["ended_at"] == ended.json()["ended_at"]


def test_a_member_who_is_not_there_today_declares_nothing(cast, ben):
    sits_today(cast, cast.member)
    sits_today(cast, ben, day=date(2025, 11, 2))
    assert declare(cast, ben, cast.member).status_code == 403
    assert not Emergency.objects.exists()


def test_a_member_declares_nothing_for_whoever_is_not_there_today(cast, ben):
    write_note(cast, cast.member)
    sits_today(cast, ben)
    assert declare(cast, ben, cast.member).status_code == 400
    assert not Emergency.objects.exists()


def test_a_manager_may_for_anybody_who_belongs_there_and_for_nobody_else(cast):
    assert declare(cast, cast.manager, cast.member).status_code == 201
    # The manager does not even see a member of the other property.
    assert declare(cast, cast.manager, cast.other_member).status_code == 400
    assert declare(cast, cast.coordinator, cast.other_member).status_code == 400
    assert declare(cast, cast.coordinator, cast.other_member, cast.south).status_code == 201


def test_a_sit_that_was_cancelled_puts_nobody_on_the_property(cast, ben):
    sits_today(cast, cast.member)
    sit = sits_today(cast, ben)
    sit.state = "cancelled"
    sit.save()
    assert declare(cast, ben, cast.member).status_code == 403


def test_a_person_changes_and_erases_their_own_note(cast):
    write_note(cast, cast.member)
    write_note(cast, cast.member, "None any more.")
    assert MedicalNote.objects.count() == 1
    client = cast.client(cast.member)
    assert client.get("/api/v1/medical-notes/mine/").json()["text"] == "None any more."
    assert client.delete("/api/v1/medical-notes/mine/").status_code == 204
    assert client.delete("/api/v1/medical-notes/mine/").status_code == 204
    assert not MedicalNote.objects.exists()
    assert client.get("/api/v1/medical-notes/mine/").json()["text"] is None
    assert AuditEvent.objects.filter(action="medical_note:own", reason="erased").count() == 1


def test_no_row_of_the_database_holds_a_note_in_clear(cast, ben, declared):
    read_note(cast, ben, declared)
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            for row in cursor.fetchall():
                text = " ".join(
                    bytes(value).decode("latin-1")
                    if isinstance(value, bytes | memoryview)
                    else str(value)
                    for value in row
                )
                found += [table] if "NOTEmark" in text else []
    assert found == []
    assert MedicalNote.objects.exists()


@pytest.fixture
def sheet(cast):
    stand = make_stand(cast.north, "Oak <point>", latitude=43.20312, longitude=-91.50127)
    EmergencySheet.objects.create(
        property=cast.north,
        road_address="1180 Ridge Road",
        ambulance_directions="Left after the bridge.",
        hospital_name="Valley Hospital",
        hospital_address="1 Hospital Drive",
        hospital_phone="555-0150",
        first_aid_kit="Hay barn, left of the door",
        key_holders=[{"name": "Max Manager", "phone": "555-0100", "keys": "gates"}],
    )
    return stand


def get_sheet(cast, person, form="", **headers):
    path = f"/api/v1/properties/{cast.north.id}/emergency-sheet/{form}"
    return cast.client(person).get(path, **headers)


def test_the_sheet_has_each_stand_in_both_forms_and_the_call_first(cast, sheet):
    told = get_sheet(cast, cast.member).json()
    (stand,) = told["stands"]
    assert stand["decimal_degrees"] == "43.20312, -91.50127"
    assert stand["degrees_minutes"] == "43° 12.187′ N, 091° 30.076′ W"
    assert stand["road_address"] == "1180 Ridge Road"
    assert "Call the local emergency number first" in told["cautions"][0]
    assert any("no substitute" in caution for caution in told["cautions"])
    assert told["key_holders"][0]["name"] == "Max Manager"


def test_a_stand_says_what_differs_and_the_property_the_rest(cast, sheet):
    StandEmergency.objects.create(stand=sheet, road_address="412 Creek Lane")
    (stand,) = get_sheet(cast, cast.member).json()["stands"]
    assert stand["road_address"] == "412 Creek Lane"
    assert stand["ambulance_directions"] == "Left after the bridge."


def test_the_property_names_its_own_number_and_none_is_built_in(cast, sheet):
    first = get_sheet(cast, cast.member).json()["cautions"][0]
    assert not any(sign.isdigit() for sign in first)
    cast.north.settings = {"emergency": {"local_emergency_number": "555-0911"}}
    cast.north.save()
    assert "(555-0911)" in get_sheet(cast, cast.member).json()["cautions"][0]


def test_the_page_holds_all_it_needs_and_escapes_what_people_wrote(cast, sheet):
    page = get_sheet(cast, cast.member, "?format=html")
    html = page.content.decode()
    assert page["Content-Type"].startswith("text/html")
    assert "43° 12.187′ N" in html
    assert "Oak &lt;point&gt;" in html
    for outside in ("<script", "http://", "https://", "<img", "<link"):
        assert outside not in html


def test_it_prints(cast, sheet):
    paper = get_sheet(cast, cast.member, "?format=pdf")
    assert paper["Content-Type"] == "application/pdf"
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(paper.content)).pages)
    assert "Valley Hospital" in text
    assert "43.20312" in text


def test_a_device_keeps_it_and_asks_whether_it_is_still_the_same(cast, sheet):
    first = get_sheet(cast, cast.member, "?format=html")
    assert "private" in first["Cache-Control"]
    assert "max-age=86400" in first["Cache-Control"]
    same = get_sheet(cast, cast.member, "?format=html", HTTP_IF_NONE_MATCH=first["ETag"])
    assert (same.status_code, same.content) == (304, b"")
    assert get_sheet(cast, cast.member)["ETag"] != first["ETag"]

    sheet.latitude = 43.21
    sheet.save()
    moved = get_sheet(cast, cast.member, "?format=html", HTTP_IF_NONE_MATCH=first["ETag"])
    assert moved.status_code == 200
    assert moved["ETag"] != first["ETag"]


def test_a_sheet_with_nothing_entered_says_so(cast):
    make_stand(cast.north, "Oak")
    html = get_sheet(cast, cast.member, "?format=html").content.decode()
    assert html.count("Not entered.") >= 5
    assert "Never, as far as is recorded." in html


def test_landowners_outfitters_and_strangers_read_no_sheet(cast, sheet):
    assert get_sheet(cast, cast.landowner).status_code == 403
    assert get_sheet(cast, cast.stranger).status_code == 404
    path = f"/api/v1/properties/{cast.north.id}/emergency-sheet/"
    assert cast.application_client().get(path).status_code == 403


def test_managers_enter_it_and_members_do_not(cast):
    body = {"property": str(cast.north.id), "hospital_name": "Valley Hospital"}
    assert (
        cast.client(cast.member).post("/api/v1/emergency-sheets/", body, format="json").status_code
        == 403
    )
    made = cast.client(cast.manager).post("/api/v1/emergency-sheets/", body, format="json")
    assert made.status_code == 201
    changed = cast.client(cast.manager).patch(
        made["Location"],
        {"key_holders": [{"name": "Lou", "keys": "north gate"}]},
        format="json",
        HTTP_IF_MATCH=made["ETag"],
    )
    assert changed.json()["key_holders"] == [{"name": "Lou", "phone": "", "keys": "north gate"}]


def test_a_coordinator_of_the_cooperative_is_a_manager_here(cast, ben, declared):
    assert read_note(cast, cast.coordinator, declared).status_code == 200
    other = make_member(cast.cooperative, "Mo Manager", cast.south)
    grant(other, Role.MANAGER, cast.south)
    assert read_note(cast, other, declared).status_code == 404

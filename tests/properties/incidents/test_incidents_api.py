"""Trouble is reported by many, read by few, followed up, and told to the landowner in short."""

from io import BytesIO

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from coop.audit.models import AuditEvent
from coop.outbox import services as outbox
from coop.outbox.models import Message
from properties.incidents.models import EvidenceFile, Incident
from tests.cast import NOW, make_member
from tests.properties.incidents.test_evidence import located_jpeg

pytestmark = pytest.mark.usefixtures("at_now")
ADDRESS = "/api/v1/incidents/"
ACCUSED = "Otto from the south drove in and cut the chain."


@pytest.fixture
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


def body(cast, **changes):
    return {
        "property": str(cast.north.id),
        "kind": "trespass",
        "happened_at": "2025-10-31T06:10:00-05:00",
        "place_words": "the lower gate",
        "what": ACCUSED,
        **changes,
    }


def reported(cast, by=None, **changes):
    made = cast.client(by or cast.member).post(ADDRESS, body(cast, **changes), format="json")
    assert made.status_code == 201, made.data
    return made.data


def act(cast, incident, verb, by=None, **fields):
    address = f"{ADDRESS}{incident['id']}/{verb}/"
    return cast.client(by or cast.manager).post(address, fields, format="json")


def upload(client, incident, content, name="gate.jpg", **extra):
    file = SimpleUploadedFile(name, content, content_type="text/html")
    address = f"{ADDRESS}{incident['id']}/files/"
    return client.post(address, {"file": file}, format="multipart", **extra)


@pytest.mark.parametrize("who", ["member", "landowner", "manager", "coordinator"])
def test_whoever_belongs_there_reports_and_reads_the_report_again(cast, who):
    person = getattr(cast, who)

    made = reported(cast, by=person)

    assert (made["state"], made["reported_by_name"]) == ("open", person.name)
    again = cast.client(person).get(f"{ADDRESS}{made['id']}/")
    assert again.data["what"] == ACCUSED
    event = AuditEvent.objects.get(object_id=made["id"])
    assert (event.actor_name, event.action) == (person.name, "incident:report")


def test_managers_read_it_and_no_other_member_landowner_outfitter_or_stranger_does(cast):
    made = reported(cast)
    other = make_member(cast.cooperative, "Nia North", cast.north)
    clients = [cast.client(each) for each in (other, cast.landowner, cast.stranger)]

    for client in (*clients, cast.application_client()):
        assert client.get(f"{ADDRESS}{made['id']}/").status_code == 404
        assert client.get(ADDRESS).data["results"] == []
    for person in (cast.manager, cast.coordinator):
        assert cast.client(person).get(f"{ADDRESS}{made['id']}/").data["what"] == ACCUSED


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"place_words": ""}, "place_words"),
        ({"longitude": -91.49}, "latitude"),
        ({"happened_at": "2025-11-01T17:00:01Z"}, "happened_at"),
        ({"kind": "quarrel"}, "kind"),
    ],
)
def test_a_report_says_where_and_when(cast, changes, field):
    answer = cast.client(cast.member).post(ADDRESS, body(cast, **changes), format="json")

    assert answer.status_code == 400
    assert field in answer.content.decode()
    assert not Incident.objects.exists()


def test_a_point_says_where_without_words_and_this_very_instant_is_not_the_future(cast):
    made = reported(
        cast,
        place_words="",
        longitude=cast.north.longitude,
        latitude=cast.north.latitude,
        happened_at="2025-11-01T17:00:00Z",
    )

    assert made["longitude"] == cast.north.longitude


def test_it_goes_from_open_over_followed_up_to_closed_and_no_further(cast):
    made = reported(cast)

    first = act(cast, made, "follow-up", words="Asked the neighbour.")
    closed = act(cast, made, "close", words="He had mistaken the boundary.")

    assert first.data["state"] == "followed_up"
    assert closed.data["state"] == "closed"
    assert closed.data["closed_at"] is not None
    entries = cast.client(cast.manager).get("/api/v1/incident-follow-ups/").data["results"]
    assert [entry["words"] for entry in entries] == [
        "Asked the neighbour.",
        "He had mistaken the boundary.",
    ]
    for verb in ("follow-up", "close", "ask-errand"):
        answer = act(cast, made, verb, words="More.")
        assert (answer.status_code, answer.data["code"]) == (409, "wrong_order")


def test_reporters_see_the_state_of_their_report_and_not_what_was_found_out(cast):
    made = reported(cast)
    act(cast, made, "follow-up", words="It was his cousin.")
    reporter = cast.client(cast.member)

    assert reporter.get(f"{ADDRESS}{made['id']}/").data["state"] == "followed_up"
    assert reporter.get("/api/v1/incident-follow-ups/").data["results"] == []
    assert act(cast, made, "follow-up", by=cast.member, words="More.").status_code == 403


def test_a_landowner_reads_kind_date_and_what_was_done_once_it_is_released_and_nothing_else(cast):
    made = reported(cast)
    owner = cast.client(cast.landowner)
    assert owner.get("/api/v1/told-incidents/").data["results"] == []

    act(cast, made, "release", done="The gate has a new chain.")

    assert owner.get("/api/v1/told-incidents/").data["results"] == [
        {
            "id": made["id"],
            "property": cast.north.id,
            "kind": "trespass",
            "happened_on": "2025-10-31",
            "done": "The gate has a new chain.",
            "told_at": "2025-11-01T17:00:00Z",
        }
    ]
    one = owner.get(f"/api/v1/told-incidents/{made['id']}/")
    assert "Otto" not in one.content.decode()
    assert "ETag" not in one
    assert owner.get(f"{ADDRESS}{made['id']}/").status_code == 404
    member = cast.client(cast.member)
    assert member.get("/api/v1/told-incidents/").data["results"] == []


def test_what_was_released_in_error_is_taken_back(cast):
    made = reported(cast)
    act(cast, made, "release", done="The gate has a new chain.")

    back = act(cast, made, "take-back")

    assert (back.data["told_at"], back.data["told_done"]) == (None, "")
    owner = cast.client(cast.landowner)
    assert owner.get("/api/v1/told-incidents/").data["results"] == []


@pytest.mark.parametrize(
    "done", ["Call 608-555-0100.", "Write to otto@example.org.", "At 43.2101, -91.4901."]
)
def test_a_release_holds_no_way_to_reach_a_person_and_no_place_on_the_map(cast, done):
    made = reported(cast)

    assert act(cast, made, "release", done=done).status_code == 400
    assert Incident.objects.get().told_at is None


def test_managers_are_told_by_letter_that_there_is_something_and_not_what(cast):
    reported(cast)

    outbox.drain(now=NOW)
    outbox.drain(now=NOW)

    letter = Message.objects.get()
    assert letter.recipient == cast.manager.email
    assert "North: trespass was reported" in letter.subject
    assert "Otto" not in letter.text
    assert not letter.urgent


def test_an_injury_goes_to_managers_and_coordinators_at_once_and_not_to_who_reported_it(cast):
    reported(cast, by=cast.manager, kind="injury")

    outbox.drain(now=NOW)

    letter = Message.objects.get()
    assert (letter.recipient, letter.urgent) == (cast.coordinator.email, True)


def test_a_correction_needs_the_version_that_was_read_and_keeps_what_stood_there(cast):
    made = reported(cast)
    manager = cast.client(cast.manager)
    address = f"{ADDRESS}{made['id']}/"
    tag = manager.get(address)["ETag"]

    changed = manager.patch(address, {"kind": "damage"}, format="json", HTTP_IF_MATCH=tag)

    assert changed.data["kind"] == "damage"
    stale = manager.patch(address, {"kind": "theft"}, format="json", HTTP_IF_MATCH=tag)
    assert stale.status_code == 412
    event = AuditEvent.objects.filter(object_id=made["id"], action="incident:write").get()
    assert event.before["kind"] == "trespass"


def test_evidence_is_an_attachment_that_no_browser_guesses_at_and_tells_no_position(cast):
    made = reported(cast)
    reporter, content = cast.client(cast.member), located_jpeg()

    file = upload(reporter, made, content, name="../gate photo.html").data

    assert (file["name"], file["media_type"]) == ("gate photo.jpg", "image/jpeg")
    assert file["holds_position"] is None
    answer = reporter.get(f"/api/v1/incident-files/{file['id']}/content/")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"].startswith('attachment; filename="evidence-')
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in answer["Cache-Control"]
    assert dict(Image.open(BytesIO(answer.content)).getexif()) == {}
    assert reporter.get(f"/api/v1/incident-files/{file['id']}/original/").status_code == 403
    manager = cast.client(cast.manager)
    original = manager.get(f"/api/v1/incident-files/{file['id']}/original/")
    assert original.content == content
    assert original["Content-Disposition"].startswith("attachment")
    told = manager.get(f"/api/v1/incident-files/{file['id']}/").data
    assert told["holds_position"] is True


def test_what_is_no_picture_and_no_paper_is_refused_whatever_it_is_called(cast):
    made = reported(cast)

    answer = upload(cast.client(cast.member), made, b"<script>alert(1)</script>")

    assert answer.status_code == 400
    assert not EvidenceFile.objects.exists()


def test_a_file_over_the_propertys_limit_is_refused(cast):
    cast.north.settings = {"incidents": {"most_file_mb": 1}}
    cast.north.save()
    made = reported(cast)
    paper = b"%PDF-1.7\n" + b"x" * 999_985 + b"\n%%EOF"
    assert len(paper) == 1_000_000

    assert upload(cast.client(cast.member), made, paper, "a.pdf").status_code == 201
    assert upload(cast.client(cast.member), made, b"%" + paper, "b.pdf").status_code == 400


def test_the_same_file_twice_is_kept_once_and_their_number_has_a_limit(cast):
    cast.north.settings = {"incidents": {"most_files": 2}}
    cast.north.save()
    made = reported(cast)
    reporter = cast.client(cast.member)
    papers = [b"%PDF-1.7\n" + word + b"\n%%EOF" for word in (b"one", b"two", b"three")]

    ids = [upload(reporter, made, papers[0], "a.pdf").data["id"] for _ in range(2)]

    assert ids[0] == ids[1]
    assert upload(reporter, made, papers[1], "b.pdf").status_code == 201
    assert upload(reporter, made, papers[2], "c.pdf").status_code == 400
    assert EvidenceFile.objects.count() == 2


def test_an_upload_sent_again_under_its_key_has_one_effect(cast):
    made = reported(cast)
    reporter = cast.client(cast.member)
    content = b"%PDF-1.7\n%%EOF"

    first, again = (
        upload(reporter, made, content, "a.pdf", HTTP_IDEMPOTENCY_KEY="k") for _ in range(2)
    )

    assert first.status_code == again.status_code == 201
    assert again["Idempotent-Replay"] == "true"
    assert again.json()["id"] == first.json()["id"]
    assert EvidenceFile.objects.count() == 1


def test_nobody_but_managers_and_the_reporter_adds_or_reads_evidence(cast):
    made = reported(cast)
    other = make_member(cast.cooperative, "Nia North", cast.north)
    paper = b"%PDF-1.7\n%%EOF"
    file = upload(cast.client(cast.manager), made, paper, "a.pdf").data

    for client in (cast.client(other), cast.client(cast.landowner), cast.client(cast.stranger)):
        assert upload(client, made, paper, "a.pdf").status_code == 404
        assert client.get(f"/api/v1/incident-files/{file['id']}/content/").status_code == 404
    # What the manager adds is the manager's: the reporter sees what they gave themselves.
    reporter = cast.client(cast.member)
    assert reporter.get(f"/api/v1/incident-files/{file['id']}/").status_code == 404

"""Calendar feeds: by the rules of RFC 5545 and RFC 7986, private, replaceable, kept current."""

import re
from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Event

from coop.audit.models import AuditEvent
from properties.people.models import RoleGrant
from scheduling.sits.calendar_columns import IdText, InstantText, written_id, written_instant
from scheduling.sits.calendar_models import CalendarFeed
from scheduling.sits.calendar_text import FeedEvent, calendar_text, instant
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked

pytestmark = pytest.mark.usefixtures("at_now")
FEEDS = "/api/v1/calendar-feeds/"
DAY_AFTER = DAY + timedelta(days=1)


def address(stage, person, **body):
    made = stage.cast.client(person).post(FEEDS, body)
    assert made.status_code == 201, made.data
    assert made["Cache-Control"] == "no-store"
    return urlsplit(made.data["url"]).path


def read(path):
    answer = Client().get(path)
    assert answer.status_code == 200
    return answer.content


def events(text):
    return {str(event["UID"]): event for event in Calendar.from_ical(text).walk("VEVENT")}


def event(**changes):
    fields = {
        "uid": "0193a1c2-0000-7000-8000-000000000004",
        "sequence": 3,
        "starts_at": NOW,
        "ends_at": NOW + timedelta(hours=4),
        "created_at": NOW - timedelta(days=1),
        "changed_at": NOW,
        "summary": "Oak",
        "location": "Oak, North",
        "description": "Evening",
    }
    told = {**fields, **changes}
    instants = {name: instant(at) for name, at in told.items() if name.endswith("_at")}
    return FeedEvent(**{**told, **instants})


def test_a_member_reads_their_own_sits_and_nobody_elses(stage):
    own, other = booked(stage), booked(stage, stage.ben, stand=stage.creek)

    found = events(read(address(stage, stage.cast.member)))

    assert set(found) == {str(own.id)} != {str(other.id)}
    shown = found[str(own.id)]
    assert shown["DTSTART"].dt == own.starts_at.replace(microsecond=0)
    assert shown["DTEND"].dt == own.ends_at.replace(microsecond=0)
    assert (shown["STATUS"], shown["SEQUENCE"]) == ("CONFIRMED", own.version)
    assert "GEO" not in shown


def test_a_cancelled_sit_stays_as_cancelled_under_its_uid_with_a_higher_sequence(stage):
    sit = booked(stage)
    path = address(stage, stage.cast.member)
    before = events(read(path))[str(sit.id)]

    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="Ill", now=NOW)

    after = events(read(path))[str(sit.id)]
    assert after["STATUS"] == "CANCELLED"
    assert after["SEQUENCE"] > before["SEQUENCE"]
    assert after["DTSTAMP"].dt >= before["DTSTAMP"].dt


def test_replacing_the_address_ends_the_old_one_and_no_secret_is_kept(stage):
    booked(stage)
    old = address(stage, stage.cast.member)
    new = address(stage, stage.cast.member)

    assert old != new
    assert Client().get(old).status_code == 404
    assert Client().get(new)["Cache-Control"] == "no-store"
    secret = new.removeprefix("/calendars/").removesuffix(".ics")
    feed = CalendarFeed.objects.get()
    assert secret not in str(vars(feed))
    told = str([(row.before, row.after) for row in AuditEvent.objects.all()])
    assert secret not in told
    assert feed.digest not in told


def test_an_ended_feed_answers_no_more_and_only_its_owner_ends_it(stage):
    path = address(stage, stage.cast.member)
    feed = CalendarFeed.objects.get()

    other = stage.cast.client(stage.cast.manager).delete(f"{FEEDS}{feed.id}/")
    own = stage.cast.client(stage.cast.member).delete(f"{FEEDS}{feed.id}/")

    assert (other.status_code, own.status_code) == (404, 204)
    assert Client().get(path).status_code == 404


@pytest.mark.parametrize("who", ["manager", "landowner"])
def test_manager_and_landowner_read_the_propertys_sits_by_full_name(stage, who):
    booked(stage)
    booked(stage, stage.ben, stand=stage.creek)

    path = address(stage, getattr(stage.cast, who), property=str(stage.cast.north.id))

    summaries = {str(shown["SUMMARY"]) for shown in events(read(path)).values()}
    assert summaries == {"Oak: Mia Member", "Creek: Ben Second"}


def test_a_member_has_no_feed_of_the_property_and_a_stranger_does_not_see_it(stage):
    body = {"property": str(stage.cast.north.id)}

    assert stage.cast.client(stage.cast.member).post(FEEDS, body).status_code == 403
    assert stage.cast.client(stage.cast.stranger).post(FEEDS, body).status_code == 400
    assert not CalendarFeed.objects.exists()


def test_a_manager_who_is_none_any_more_reads_the_property_no_more(stage):
    path = address(stage, stage.cast.manager, property=str(stage.cast.north.id))
    assert Client().get(path).status_code == 200

    RoleGrant.objects.filter(person=stage.cast.manager).update(revoked_at=NOW)

    assert Client().get(path).status_code == 404


def test_a_feed_reads_the_database_as_often_for_many_sits(stage, django_assert_max_num_queries):
    booked(stage)
    booked(stage, stage.ben, stand=stage.creek)
    path = address(stage, stage.cast.manager, property=str(stage.cast.north.id))

    with django_assert_max_num_queries(6):
        read(path)


@pytest.mark.parametrize("path", ["/calendars/nonsense.ics", "/calendars/.ics"])
def test_a_wrong_address_is_not_found(db, path):
    assert Client().get(path).status_code == 404


def test_lines_end_in_crlf_and_hold_at_most_75_octets(stage):
    """RFC 5545, 3.1."""
    text = calendar_text(name="Früh" * 40, events=[event(summary="Ü" * 200, description="y" * 500)])

    lines = text.split(b"\r\n")
    assert lines[-1] == b""
    assert all(b"\n" not in line and b"\r" not in line for line in lines)
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode()  # no fold inside a character


def test_text_is_escaped_as_the_standard_says():
    """RFC 5545, 3.3.11: backslash, semicolon, comma, line break."""
    text = calendar_text(name="N", events=[event(summary="a\\b;c,d\ne")])

    assert b"SUMMARY:a\\\\b\\;c\\,d\\ne\r\n" in text


def test_times_are_utc_with_z_and_what_is_required_stands_once():
    """RFC 5545, 3.3.5 form 2, 3.6 and 3.6.1."""
    text = calendar_text(name="N", events=[event()]).decode()

    assert "DTSTART:20251101T170000Z\r\nDTEND:20251101T210000Z\r\n" in text
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    for name in ("PRODID", "VERSION", "UID", "DTSTAMP", "DTSTART"):
        assert len(re.findall(rf"^{name}:", text, re.MULTILINE)) == 1
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in text


@given(
    summary=st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=120),
    minutes=st.integers(1, 2000),
    sequence=st.integers(0, 10**6),
)
def test_what_is_written_is_read_back(summary, minutes, sequence):
    ends_at = datetime(2026, 3, 8, 7, 30, tzinfo=UTC) + timedelta(minutes=minutes)
    text = calendar_text(
        name="N", events=[event(summary=summary, ends_at=ends_at, sequence=sequence)]
    )

    (found,) = events(text).values()
    assert str(found["SUMMARY"]) == summary
    assert found["DTEND"].dt == ends_at
    assert found["SEQUENCE"] == sequence


def test_the_library_writes_the_same_bytes():
    """Every event is built as the library's own object, and its text compared to ours."""
    texts = [
        "",
        "Oak, north; 3\\4",
        "ü" * 90,
        "x" * 74,
        "x" * 75,
        "a\\" * 60,
        "a\r\nb\nc\rd",
        "^\\;," * 30,
    ]
    events = [
        event(
            uid=str(number),
            sequence=number,
            summary=text,
            location=text * 2,
            description=f"{text}\n\n{text}",
            changed_at=NOW + timedelta(microseconds=7),
            is_cancelled=bool(number % 2),
        )
        for number, text in enumerate(texts)
    ]
    calendar = Calendar.from_ical(calendar_text(name="Früh", events=[]))
    for one in events:
        calendar.add_component(_as_object(one))

    assert calendar_text(name="Früh", events=events).decode() == calendar.to_ical().decode()


def _read(written):
    return datetime.strptime(written, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)


def _as_object(one):
    shown = Event()
    for name, value in (
        ("uid", one.uid),
        ("sequence", one.sequence),
        ("dtstamp", _read(one.changed_at)),
        ("created", _read(one.created_at)),
        ("last-modified", _read(one.changed_at)),
        ("dtstart", _read(one.starts_at)),
        ("dtend", _read(one.ends_at)),
        ("summary", one.summary),
        ("location", one.location),
        ("description", one.description),
        ("class", "PRIVATE"),
        ("status", "CANCELLED" if one.is_cancelled else "CONFIRMED"),
        ("transp", "TRANSPARENT" if one.is_cancelled else "OPAQUE"),
    ):
        shown.add(name, value)
    return shown


@pytest.mark.parametrize(
    "at",
    [
        datetime(2025, 11, 8, 22, 59, 59, 999_999, tzinfo=UTC),
        datetime(2025, 11, 8, 23, 0, 0, 0, tzinfo=UTC),
        datetime(2024, 2, 29, 6, 5, 4, 1, tzinfo=UTC),
        datetime(2025, 11, 2, 1, 30, tzinfo=ZoneInfo("America/Chicago")),
        datetime(2025, 11, 2, 1, 30, tzinfo=ZoneInfo("America/Chicago"), fold=1),
    ],
)
def test_instants_and_ids_come_from_the_database_as_the_program_writes_them(stage, at):
    sit = booked(stage)
    Sit.objects.filter(id=sit.id).update(updated_at=at)

    changed_at, identity = Sit.objects.values_list(InstantText("updated_at"), IdText("id")).get()

    assert written_instant(changed_at) == instant(at)
    assert written_id(identity) == str(sit.id)


def test_ones_own_feed_tells_what_the_sits_are(stage):
    own, other = booked(stage), booked(stage, stage.cast.member, stage.creek, day=DAY_AFTER)

    found = events(read(address(stage, stage.cast.member)))

    for sit in (own, other):
        shown = found[str(sit.id)]
        assert str(shown["SUMMARY"]) == f"{sit.stand.name}: Mia Member"
        assert str(shown["LOCATION"]) == f"{sit.stand.name}, North"
        assert f"at {sit.stand.name} in the evening of {sit.local_date:%A %d %B %Y}." in str(
            shown["DESCRIPTION"]
        )
        assert shown["CREATED"].dt == sit.created_at.replace(microsecond=0)

"""The land's day and calendar: who is there, under full names, and never a number."""

from datetime import date, datetime, timedelta

import pytest
import time_machine

from properties.land.models import Closure
from properties.obligations.models import WorkDay
from scheduling.errands.models import Errand
from scheduling.sits.life_services import check_in, check_out
from scheduling.sits.models import Sit
from scheduling.sits.overdue_services import say_back_by
from scheduling.tracking.services import open_tracking
from scheduling.tracking.tracker_services import join, leave
from tests.cast import NOW, square
from tests.scheduling.sits.stage import booked, give_fits, make_guest, make_stage

DAY = date(2025, 11, 3)


@pytest.fixture
def stage(cast):
    made = make_stage(cast)
    for stand in (made.oak, made.creek):
        give_fits(stand, [DAY])
    with time_machine.travel(NOW, tick=False):
        yield made


def day(stage, at, *, who=None, page="figures"):
    address = f"/api/v1/land-today/{stage.cast.north.id}/{page}/"
    with time_machine.travel(at, tick=False):
        return stage.cast.client(who or stage.cast.landowner).get(address)


def somebody_there(stage):
    """Mia with a guest and a truck at Oak, Ben at Creek; Mia has checked in."""
    member = stage.cast.member
    member.vehicle = "Blue pick-up ABC 123"
    member.save()
    sit = booked(stage, day=DAY, guests=[make_guest(member)])
    booked(stage, stage.ben, stage.creek, day=DAY)
    check_in(actor=stage.cast.actor(member), sit=sit, now=sit.starts_at)
    return sit


def test_a_landowner_reads_who_is_there_now_and_who_comes_today(stage):
    sit = somebody_there(stage)

    seen = day(stage, sit.starts_at + timedelta(minutes=30)).json()

    there = {row["name"]: row for row in seen["there_now"]}
    assert set(there) == {"Mia Member", "Gus Guest"}
    assert there["Gus Guest"]["through"] == "Mia Member"
    assert there["Gus Guest"]["vehicle"] == "Blue pick-up ABC 123"
    roster = {row["name"]: row for row in seen["roster"]}
    assert (roster["Ben Second"]["is_there"], roster["Ben Second"]["is_late"]) == (False, True)
    assert seen["on"] == "2025-11-03"
    for person in (stage.cast.member, stage.ben):
        assert person.phone not in str(seen)
        assert person.email not in str(seen)
        assert person.emergency_contact_phone not in str(seen)


def test_times_are_by_the_clock_of_the_property(stage):
    sit = somebody_there(stage)
    check_out(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.ends_at)

    seen = day(stage, sit.ends_at + timedelta(minutes=5)).json()

    mia = next(row for row in seen["roster"] if row["name"] == "Mia Member")
    names = ("comes_at", "gone_by", "came_at", "left_at")
    assert {mia[name][-6:] for name in names} == {"-06:00"}
    assert seen["asked_at"].endswith("Z")
    assert datetime.fromisoformat(mia["came_at"]) == sit.starts_at.replace(microsecond=0)


def test_whoever_checks_out_is_there_no_more_and_whoever_stays_too_long_is_late(stage):
    sit = somebody_there(stage)
    after = sit.ends_at + timedelta(hours=5)

    assert [row["is_late"] for row in day(stage, after).json()["there_now"]] == [True, True]
    check_out(actor=stage.cast.actor(stage.cast.member), sit=sit, now=after)
    assert day(stage, after).json()["there_now"] == []


def test_who_is_still_out_after_midnight_is_shown_although_the_roster_is_of_today(stage):
    sit = somebody_there(stage)
    seen = day(stage, sit.ends_at + timedelta(hours=12)).json()
    assert seen["on"] == "2025-11-04"
    assert (len(seen["there_now"]), seen["roster"]) == (2, [])


def test_the_page_to_print_says_the_same_in_words(stage):
    sit = somebody_there(stage)
    Closure.objects.create(
        property=stage.cast.north,
        first_on=DAY,
        last_on=DAY,
        reason="Cattle are moved.",
        part=square(-91.5, 43.2),
        session_kind="morning",
    )

    page = day(stage, sit.starts_at + timedelta(minutes=30), page="html")

    text = page.content.decode()
    assert page["Content-Type"].startswith("text/html")
    assert "2 people are there now; 3 seats are taken today." in text
    assert "Guest of Mia Member" in text
    assert "Blue pick-up ABC 123" in text
    assert "A part of the ground is closed in the mornings until" in text
    assert "Cattle are moved." in text
    assert "Cattle are moved.." not in text
    assert "not checked in" in text
    assert stage.cast.member.phone not in text


def tracked_from(stage, sit, minutes=30):
    """Mia hit a deer from Oak so many minutes into her sit and did not find it."""
    hit_at = sit.starts_at + timedelta(minutes=minutes)
    fields = {
        "hit_at": hit_at,
        "longitude": stage.oak.longitude,
        "latitude": stage.oak.latitude,
        "hit_kind": "liver",
        "harvest_class": "antlerless",
    }
    actor = stage.cast.actor(stage.cast.member)
    return open_tracking(actor=actor, sit=Sit.objects.get(id=sit.id), fields=fields, now=hit_at)


def on_foot(stage, tracking, by, hours, person=None, **fields):
    at = tracking.hit_at
    return join(
        actor=stage.cast.actor(by),
        tracking=tracking,
        person=person,
        fields={"area": "Creek", "back_by": at + timedelta(hours=hours), **fields},
        now=at,
    )


def test_whoever_tracks_a_deer_on_foot_is_there_until_they_have_left(stage):
    tracking = tracked_from(stage, somebody_there(stage))
    ben = on_foot(stage, tracking, stage.ben, 2, stage.ben)
    on_foot(stage, tracking, stage.cast.member, 3, name="Dora Dog", phone="555-0177")
    at = tracking.hit_at + timedelta(minutes=5)

    seen = day(stage, at)

    there = {row["name"]: row for row in seen.json()["there_now"]}
    assert set(there) == {"Mia Member", "Gus Guest", "Ben Second", "Dora Dog"}
    assert (there["Ben Second"]["state"], there["Ben Second"]["is_tracking"]) == ("tracking", True)
    assert datetime.fromisoformat(there["Ben Second"]["gone_by"]) == ben.back_by
    assert (there["Dora Dog"]["standing"], there["Mia Member"]["is_tracking"]) == (
        "outsider",
        False,
    )
    assert "555-0177" not in seen.content.decode()
    late = day(stage, ben.back_by + timedelta(minutes=1)).json()["there_now"]
    assert {row["name"] for row in late if row["is_late"]} == {"Ben Second"}
    leave(actor=stage.cast.actor(stage.ben), tracker=ben, now=at)
    left = {row["name"] for row in day(stage, at).json()["there_now"]}
    assert left == {"Mia Member", "Gus Guest", "Dora Dog"}


def test_the_page_names_who_is_on_foot_and_when_they_are_back_without_a_number(stage):
    tracking = tracked_from(stage, somebody_there(stage))
    on_foot(stage, tracking, stage.cast.member, 3, name="Dora Dog", phone="555-0177")

    text = day(stage, tracking.hit_at, page="html").content.decode()

    assert "3 people are there now" in text
    assert "Dora Dog" in text
    assert "tracking a deer" in text
    assert "back by" in text
    assert "555-0177" not in text


def test_whoever_is_checked_in_and_on_foot_is_counted_once(stage):
    tracking = tracked_from(stage, somebody_there(stage))
    mia = on_foot(stage, tracking, stage.cast.member, 11, stage.cast.member)

    rows = day(stage, tracking.hit_at).json()["there_now"]

    (row,) = [row for row in rows if row["name"] == "Mia Member"]
    assert (row["stand"], row["is_tracking"]) == ("Oak", True)
    assert datetime.fromisoformat(row["gone_by"]) == mia.back_by


def test_whoever_looks_for_two_deer_is_counted_once_by_the_latest_word(stage):
    sit = somebody_there(stage)
    first, second = tracked_from(stage, sit), tracked_from(stage, sit, minutes=40)
    later = on_foot(stage, first, stage.ben, 4, stage.ben)
    on_foot(stage, second, stage.ben, 2, stage.ben)

    rows = day(stage, second.hit_at).json()["there_now"]

    (row,) = [row for row in rows if row["name"] == "Ben Second"]
    assert datetime.fromisoformat(row["gone_by"]) == later.back_by


def test_a_tracker_who_has_left_holds_up_nobodys_time(stage):
    sit = somebody_there(stage)
    tracking = tracked_from(stage, sit)
    mia = on_foot(stage, tracking, stage.cast.member, 11, stage.cast.member)
    assert mia.back_by > sit.ends_at
    leave(actor=stage.cast.actor(stage.cast.member), tracker=mia, now=tracking.hit_at)

    seen = day(stage, tracking.hit_at).json()

    ends = {
        datetime.fromisoformat(row["gone_by"])
        for row in (*seen["roster"], *seen["there_now"])
        if row["name"] in ("Mia Member", "Gus Guest")
    }
    assert ends == {sit.ends_at}


def test_a_word_of_ones_own_to_be_back_later_still_holds(stage):
    sit = somebody_there(stage)
    later = sit.ends_at + timedelta(hours=1)
    actor = stage.cast.actor(stage.cast.member)
    say_back_by(actor=actor, sit=sit, back_by=later, now=sit.starts_at)
    (row,) = [
        row for row in day(stage, sit.starts_at).json()["roster"] if row["name"] == "Mia Member"
    ]
    assert datetime.fromisoformat(row["gone_by"]) == later


@pytest.mark.parametrize(
    ("who", "status"),
    [
        ("landowner", 200),
        ("manager", 200),
        ("coordinator", 200),
        ("member", 403),
        ("other_member", 404),
        ("stranger", 404),
    ],
)
def test_full_names_are_for_landowner_and_managers(stage, who, status):
    assert day(stage, NOW, who=getattr(stage.cast, who)).status_code == status


def test_the_roster_shows_vehicles_to_those_who_know_everybody_by_name(stage):
    somebody_there(stage)
    asked = {"property": str(stage.cast.north.id), "date": f"{DAY}"}

    def vehicles(person):
        rows = stage.cast.client(person).get("/api/v1/roster/", asked).data
        return {row["stand_name"]: row["vehicle"] for row in rows}

    assert vehicles(stage.cast.landowner)["Oak"] == "Blue pick-up ABC 123"
    assert vehicles(stage.cast.member)["Oak"] == "Blue pick-up ABC 123"
    assert vehicles(stage.ben)["Oak"] == ""


def calendar(stage, who, **dates):
    asked = {
        "property": str(stage.cast.north.id),
        "first_on": "2025-11-01",
        "last_on": "2025-11-30",
        **dates,
    }
    return stage.cast.client(who).get("/api/v1/land-calendar/", asked)


def test_the_calendar_counts_work_and_sits_for_the_landowner_and_names_nobody(stage):
    cast = stage.cast
    somebody_there(stage)
    Closure.objects.create(
        property=cast.north, first_on=date(2025, 10, 20), last_on=date(2025, 11, 1), reason="Burn"
    )
    Closure.objects.create(
        property=cast.north, first_on=DAY, last_on=DAY, reason="Lifted", lifted_at=NOW
    )
    Errand.objects.create(
        property=cast.north,
        kind="trim",
        thing_id=stage.oak.id,
        stand=stage.oak,
        reason="A limb",
        due_on=DAY,
    )
    work = {"person": stage.ben, "property": cast.north, "what": "Lanes"}
    WorkDay.objects.create(worked_on=date(2025, 11, 1), hours="4.5", **work)
    WorkDay.objects.create(worked_on=date(2025, 11, 1), hours=2, withdrawn_at=NOW, **work)

    seen = calendar(stage, cast.landowner).data

    assert [row["reason"] for row in seen["closures"]] == ["Burn"]
    assert [row["name"] for row in seen["seasons"]] == ["Bow"]
    assert [dict(row) for row in seen["days"]] == [
        {"on": "2025-11-01", "errands": {}, "work_h": 4.5, "morning": 0, "evening": 0},
        {"on": "2025-11-03", "errands": {"trim": 1}, "work_h": 0.0, "morning": 0, "evening": 3},
    ]
    assert "Oak" not in str(seen)
    assert "Mia" not in str(seen)


def test_a_member_reads_closures_and_seasons_and_no_counts(stage):
    seen = calendar(stage, stage.cast.member).data
    assert seen["days"] is None
    assert seen["seasons"]


@pytest.mark.parametrize(
    "dates",
    [
        {"last_on": "2025-10-31"},
        {"last_on": "2026-12-06"},
        {"first_on": "1999-01-01", "last_on": "1999-01-02"},
        {"last_on": "9999-12-31"},
        {"first_on": "2100-12-31", "last_on": "2100-12-30"},
    ],
)
def test_a_span_that_cannot_be_is_refused(stage, dates):
    assert calendar(stage, stage.cast.landowner, **dates).status_code == 400

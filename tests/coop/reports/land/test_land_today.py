"""The land's day and calendar: who is there, under full names, and never a number."""

from datetime import date, timedelta

import pytest
import time_machine

from properties.land.models import Closure
from properties.obligations.models import WorkDay
from scheduling.errands.models import Errand
from scheduling.sits.life_services import check_in, check_out
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

    seen = day(stage, sit.starts_at + timedelta(minutes=30)).data

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


def test_whoever_checks_out_is_there_no_more_and_whoever_stays_too_long_is_late(stage):
    sit = somebody_there(stage)
    after = sit.ends_at + timedelta(hours=5)

    assert [row["is_late"] for row in day(stage, after).data["there_now"]] == [True, True]
    check_out(actor=stage.cast.actor(stage.cast.member), sit=sit, now=after)
    assert day(stage, after).data["there_now"] == []


def test_who_is_still_out_after_midnight_is_shown_although_the_roster_is_of_today(stage):
    sit = somebody_there(stage)
    seen = day(stage, sit.ends_at + timedelta(hours=12)).data
    assert seen["on"] == "2025-11-04"
    assert (len(seen["there_now"]), seen["roster"]) == (2, [])


def test_the_page_to_print_says_the_same_in_words(stage):
    sit = somebody_there(stage)
    Closure.objects.create(
        property=stage.cast.north,
        first_on=DAY,
        last_on=DAY,
        reason="Cattle are moved",
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
    assert "not checked in" in text
    assert stage.cast.member.phone not in text


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

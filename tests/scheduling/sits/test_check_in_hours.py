"""At which hours a sit is checked in and out, and how it is said when they do not fit."""

from datetime import timedelta

import pytest

from scheduling.sits import life_services
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit
from tests.scheduling.sits.stage import booked, make_guest

MINUTE = timedelta(minutes=1)


def opens_at(sit):
    return sit.starts_at - timedelta(hours=sit_settings_of(sit.property).check_in_opens_h)


@pytest.fixture
def sit(stage):
    return booked(stage)


@pytest.fixture
def step(stage, sit):
    client = stage.cast.client(stage.cast.member)
    return lambda what, body=None: client.post(f"/api/v1/sits/{sit.id}/{what}/", body or {})


def pointers(answer):
    return [error["pointer"] for error in answer.json()["errors"]]


def test_before_check_in_opens_the_answer_says_when_and_names_no_member(at_now, sit, step):
    opens = opens_at(sit)
    at_now.move_to(opens - MINUTE)

    answer = step("check-in")

    assert (answer.status_code, answer.json()["code"]) == (409, "not_the_hour")
    shown = life_services.shown_clock(opens, sit)
    assert answer.json()["detail"] == f"Check-in opens at {shown}."
    assert "errors" not in answer.json()
    assert Sit.objects.get(id=sit.id).state == "booked"
    at_now.move_to(opens)
    assert step("check-in").status_code == 200


def test_a_sent_time_before_check_in_opens_is_named(at_now, sit, step):
    at_now.move_to(sit.starts_at)

    answer = step("check-in", {"at": (opens_at(sit) - MINUTE).isoformat()})

    assert (answer.status_code, answer.json()["code"]) == (400, "invalid_input")
    assert pointers(answer) == ["#/at"]


def test_after_the_session_the_answer_asks_for_the_true_time_and_takes_it(at_now, sit, step):
    at_now.move_to(sit.ends_at)

    late = step("check-in")

    assert (late.status_code, late.json()["code"]) == (409, "not_the_hour")
    assert "session ended" in late.json()["detail"]
    ended = step("check-in", {"at": sit.ends_at.isoformat()})
    assert (ended.status_code, pointers(ended)) == (400, ["#/at"])
    assert step("check-in", {"at": sit.starts_at.isoformat()}).status_code == 200


def test_a_sent_check_out_before_check_in_is_named(at_now, sit, step):
    at_now.move_to(sit.starts_at)
    assert step("check-in").status_code == 200

    answer = step("check-out", {"at": (sit.starts_at - MINUTE).isoformat()})

    assert (answer.status_code, pointers(answer)) == (400, ["#/at"])


def test_a_clock_that_was_set_back_keeps_nobody_from_saying_that_they_are_down(at_now, sit, step):
    at_now.move_to(sit.starts_at)
    assert step("check-in").status_code == 200
    at_now.move_to(sit.starts_at - timedelta(hours=1))

    answer = step("check-out")

    assert answer.status_code == 200, answer.content
    row = Sit.objects.get(id=sit.id)
    assert row.checked_out_at == row.checked_in_at == sit.starts_at
    assert row.check_out_entered_at == sit.starts_at - timedelta(hours=1)


@pytest.fixture
def with_later_guest(stage, at_now):
    """The sit of a host who came a minute before the session, and of their guest, at its start."""
    guest = make_guest(stage.cast.member)
    host_sit = booked(stage, guests=[guest])
    guest_sit = Sit.objects.get(person=guest)
    mia = stage.cast.actor(stage.cast.member)
    begins = host_sit.starts_at
    life_services.check_in(actor=mia, sit=guest_sit, now=begins)
    life_services.check_in(actor=mia, sit=host_sit, now=begins, at=begins - MINUTE)
    return host_sit, guest_sit


def test_a_sent_check_out_before_a_guest_came_names_the_time_and_the_guest(
    at_now, stage, with_later_guest
):
    host_sit, guest_sit = with_later_guest
    client = stage.cast.client(stage.cast.member)
    at_now.move_to(host_sit.ends_at)
    early = {"at": (host_sit.starts_at - MINUTE).isoformat()}

    answer = client.post(f"/api/v1/sits/{host_sit.id}/check-out/", early)

    assert (answer.status_code, pointers(answer)) == (400, ["#/at"])
    shown = life_services.shown_clock(host_sit.starts_at, host_sit)
    says = f"Lies before {shown}, when {guest_sit.person.name} checked in."
    assert answer.json()["errors"][0]["detail"] == says
    assert set(Sit.objects.values_list("state", flat=True)) == {"checked_in"}
    assert client.post(f"/api/v1/sits/{guest_sit.id}/check-out/", {}).status_code == 200
    assert client.post(f"/api/v1/sits/{host_sit.id}/check-out/", early).status_code == 200


def test_a_clock_that_was_set_back_keeps_no_later_guest_from_leaving_with_their_host(
    at_now, stage, with_later_guest
):
    host_sit, guest_sit = with_later_guest
    at_now.move_to(host_sit.starts_at - timedelta(hours=1))

    answer = stage.cast.client(stage.cast.member).post(f"/api/v1/sits/{host_sit.id}/check-out/", {})

    assert answer.status_code == 200, answer.content
    guest_sit.refresh_from_db()
    assert (guest_sit.state, guest_sit.checked_out_at) == ("checked_out", host_sit.starts_at)

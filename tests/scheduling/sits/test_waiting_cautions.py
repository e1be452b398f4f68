"""Whoever waits is told at once what would refuse them although everybody else gave way."""

from datetime import timedelta

import pytest

from coop.api.problems import Refused
from properties.land.models import Property
from properties.stands.services import close_stand, open_stand, retire_stand
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sits.waiting_services import wait_for_seat
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, codes_of, give_fits

pytestmark = pytest.mark.django_db

WAITING = "/api/v1/waiting-list/"


@pytest.fixture
def taken(stage):
    """The one seat of Creek, held by Mia."""
    return booked(stage, stand=stage.creek)


def asked(stage, stand="creek"):
    body = {
        "property": str(stage.cast.north.id),
        "stand": str(getattr(stage, stand).id) if stand else None,
        "local_date": DAY.isoformat(),
        "span": "evening",
    }
    answer = stage.cast.client(stage.ben).post(WAITING, body, format="json")
    assert answer.status_code == 201, answer.content
    return answer.json()


def told(entry):
    return [(one["stand_name"], one["code"]) for one in entry["cautions"]]


def test_a_seat_that_only_others_hold_carries_no_caution(stage, taken, at_now):
    assert told(asked(stage)) == []


def test_a_wind_that_would_refuse_the_freed_seat_is_told_and_goes_when_it_turns(
    stage, taken, at_now
):
    give_fits(stage.creek, [DAY], fit=0.2, fits=False, verdict="unfit")
    entry = asked(stage)

    assert told(entry) == [("Creek", "fit_below_floor")]
    assert "0.2" in entry["cautions"][0]["sentence"]

    give_fits(stage.creek, [DAY])
    read = stage.cast.client(stage.ben).get(f"{WAITING}{entry['id']}/")
    assert read.json()["cautions"] == []
    assert read.headers["ETag"]


def test_a_closed_stand_is_told_and_one_waits_for_it(stage, at_now):
    manager = stage.cast.actor(stage.cast.manager)
    closed = close_stand(actor=manager, stand=stage.creek, reason="A limb.", now=NOW)
    entry = asked(stage)

    assert told(entry) == [("Creek", "stand_closed")]

    open_stand(actor=manager, stand=closed, reason="Cut.", now=NOW)
    read = stage.cast.client(stage.ben).get(f"{WAITING}{entry['id']}/").json()
    assert read["cautions"] == []


def test_rest_after_a_coming_sit_goes_when_that_is_given_up_and_after_a_past_one_stays(
    stage, at_now
):
    coming = booked(stage, stand=stage.creek, day=DAY + timedelta(days=1))
    entry = asked(stage)
    assert entry["cautions"] == []

    type(coming).objects.filter(id=coming.id).update(state="checked_out")
    read = stage.cast.client(stage.ben).get(f"{WAITING}{entry['id']}/").json()
    assert told(read) == [("Creek", "stand_resting")]


def test_of_any_stand_nothing_is_told_while_one_would_do(stage, taken, at_now):
    give_fits(stage.oak, [DAY], fit=0.2, fits=False, verdict="unfit")
    entry = asked(stage, stand=None)
    assert told(entry) == []

    give_fits(stage.creek, [DAY], fit=0.1, fits=False, verdict="unfit")
    read = stage.cast.client(stage.ben).get(f"{WAITING}{entry['id']}/").json()
    assert told(read) == [("Oak", "fit_below_floor"), ("Creek", "fit_below_floor")]


@pytest.mark.parametrize(("waited_for", "left"), [("creek", {"Creek"}), (None, {"Oak", "Creek"})])
def test_a_place_on_the_list_is_still_read_when_no_stand_is_in_use_any_more(
    stage, at_now, waited_for, left
):
    for stand in (stage.oak, stage.creek):
        give_fits(stand, [DAY], fit=0.2, fits=False, verdict="unfit")
    entry = asked(stage, stand=waited_for)
    for stand in (stage.oak, stage.creek):
        retire_stand(actor=stage.cast.actor(stage.cast.manager), stand=stand, now=NOW)

    read = stage.cast.client(stage.ben).get(f"{WAITING}{entry['id']}/")

    assert read.status_code == 200, read.content
    assert {stand for stand, code in told(read.json()) if code == "stand_retired"} == left


def test_a_list_of_many_who_wait_does_not_judge_each(stage, taken, at_now):
    asked(stage)
    (row,) = stage.cast.client(stage.ben).get(WAITING).json()["results"]

    assert "cautions" not in row


def test_nobody_waits_for_a_dark_day_since_nobodys_giving_way_ends_it(stage, taken):
    Property.objects.filter(id=stage.cast.north.id).update(
        settings={"sits": {"dark_dates": [DAY.isoformat()]}}
    )
    with pytest.raises(Refused) as refusal:
        wait_for_seat(
            actor=stage.cast.actor(stage.ben),
            land=Property.objects.select_related("cooperative").get(id=stage.cast.north.id),
            stand=stage.creek,
            local_date=DAY,
            span="evening",
            person=stage.ben,
            now=NOW,
        )

    assert codes_of(refusal.value) == ["dark_day"]
    assert not WaitingEntry.objects.exists()

"""Who may enter the waiting list, for which seat, and who enters them."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from coop.api.problems import Refused, WrongOrder
from properties.people.models import Paper
from properties.stands.services import close_stand
from scheduling.rules.catalogue import RULES
from scheduling.sits.models import SeatClaim, Sit
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sits.waiting_worth import NEVER_WAITED_FOR
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, codes_of
from tests.scheduling.sits.waiting import cancelled, waits, work


def test_nobody_waits_for_what_can_be_booked_now(stage, taken):
    with pytest.raises(WrongOrder, match="Oak: book it now"):
        waits(stage, stage.ben, stand=None)


def test_nobody_waits_where_no_freed_seat_would_help(stage):
    with pytest.raises(Refused) as refusal:
        waits(stage, stage.ben, day=DAY + timedelta(days=20))
    assert codes_of(refusal.value) == ["too_far_ahead"]


def test_nobody_waits_beside_a_seat_of_their_own_in_that_session(stage, taken, cal):
    booked(stage, stand=stage.oak, person=cal)

    with pytest.raises(Refused) as refusal:
        waits(stage, cal)

    assert set(codes_of(refusal.value)) == {"one_stand_a_session", "daily_limit"}
    assert not WaitingEntry.objects.exists()


def test_nobody_waits_without_a_paper_and_with_it_they_do(stage, taken, cal):
    paper = Paper.objects.get(person=cal, kind="licence")
    Paper.objects.filter(id=paper.id).update(expires_on=DAY - timedelta(days=1))

    with pytest.raises(Refused) as refusal:
        waits(stage, cal)

    assert codes_of(refusal.value) == ["paper_expired"]
    Paper.objects.filter(id=paper.id).update(expires_on=DAY)
    assert waits(stage, cal).state == "waiting"


def test_one_waits_for_a_stand_that_is_closed_since_it_may_open_again(stage, cal):
    manager = stage.cast.actor(stage.cast.manager)
    close_stand(actor=manager, stand=stage.creek, reason="A limb.", now=NOW)

    assert waits(stage, cal).state == "waiting"


def test_every_code_for_which_nobody_waits_is_one_of_the_rules():
    documented = {one.code for rule in RULES for one in rule.objections}

    assert documented | {"sits_overlap"} >= NEVER_WAITED_FOR


def test_nobody_waits_twice_for_one_session(stage, taken):
    waits(stage, stage.ben)
    with pytest.raises(WrongOrder, match="already"):
        waits(stage, stage.ben)


def test_a_manager_may_put_somebody_on_the_list_and_a_member_only_themselves(stage, taken, cal):
    assert waits(stage, stage.ben, by=stage.cast.manager).person == stage.ben
    with pytest.raises(PermissionDenied):
        waits(stage, cal, by=stage.cast.member)
    with pytest.raises(ValidationError, match="no role"):
        waits(stage, stage.cast.other_member, by=stage.cast.coordinator)


def test_an_all_day_wait_takes_both_sessions(stage, taken):
    waits(stage, stage.ben, span="all_day")
    cancelled(stage, taken)

    work(stage)

    assert Sit.objects.get(state="booked").span == "all_day"
    assert SeatClaim.objects.count() == 2


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01"])
@pytest.mark.parametrize("path", ["waiting-list/", "sits/"])
def test_a_day_without_a_known_sun_is_bad_input(stage, path, day):
    where = {"property": str(stage.cast.north.id), "stand": str(stage.oak.id)}
    body = {"local_date": day, "span": "evening"} | where
    if path == "sits/":
        del body["property"]

    answer = stage.cast.client(stage.cast.member).post(f"/api/v1/{path}", body)

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "#/local_date"

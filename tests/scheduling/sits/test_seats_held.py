"""Near the session a freed seat is held for whoever is next: confirmed, declined, passed on."""

from datetime import timedelta

import pytest

from coop.api.problems import Refused, WrongOrder
from properties.stands.services import close_stand, retire_stand
from scheduling.rotation.gather import gather
from scheduling.sits.booking_services import book_sit
from scheduling.sits.models import Sit
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sits.waiting_services import confirm_seat, leave_list
from scheduling.sits.waiting_work import Worked
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, booked, codes_of, facts_handled, give_fits
from tests.scheduling.sits.waiting import (
    MINUTE,
    WAITING,
    cancelled,
    jobs_done,
    mails,
    shortly_before,
    waits,
    work,
)


def test_near_the_session_a_seat_is_held_until_they_confirm(stage, taken, cal):
    entry = waits(stage, stage.ben)
    now = shortly_before(taken)
    cancelled(stage, taken, now)

    assert work(stage, now) == Worked(looked_at=1, offered=1)
    entry.refresh_from_db()
    assert (entry.state, entry.offered_stand) == ("offered", stage.creek)
    assert entry.answer_by == now + timedelta(minutes=60)
    ((subject, urgent),) = mails(stage.ben)
    assert subject.startswith("Confirm by ")
    assert urgent
    with pytest.raises(Refused) as refusal:  # held: nobody else takes it meanwhile
        booked(stage, cal, stand=stage.creek, now=now)
    assert codes_of(refusal.value) == ["stand_full"]

    sit = confirm_seat(actor=stage.cast.actor(stage.ben), entry=entry, now=now + 30 * MINUTE)

    assert (sit.person, sit.stand) == (stage.ben, stage.creek)
    entry.refresh_from_db()
    assert (entry.state, entry.sit) == ("booked", sit)


def test_an_offer_never_stands_beyond_the_end_of_booking(stage, taken):
    entry = waits(stage, stage.ben)
    now = taken.starts_at - timedelta(minutes=50)
    cancelled(stage, taken, now)

    work(stage, now)

    entry.refresh_from_db()
    assert entry.answer_by == taken.starts_at - timedelta(minutes=30)


def test_a_seat_that_nobody_confirmed_goes_to_the_next_in_line(stage, taken, cal):
    first = waits(stage, stage.ben)
    second = waits(stage, cal, now=NOW + MINUTE)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    work(stage, now)
    after = now + timedelta(minutes=60)

    with pytest.raises(WrongOrder, match="until"):
        confirm_seat(actor=stage.cast.actor(stage.ben), entry=first, now=after)
    assert work(stage, after) == Worked(looked_at=2, offered=1, ended=1)

    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.state, second.state) == ("ended", "offered")
    assert mails(stage.ben)[-1][0] == "The offer has passed: Creek, 08 Nov 2025"


def test_whoever_declines_passes_the_seat_on_at_once(stage, taken, cal):
    first = waits(stage, stage.ben)
    second = waits(stage, cal, now=NOW + MINUTE)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    jobs_done(now)

    leave_list(actor=stage.cast.actor(stage.ben), entry=first, now=now)
    leave_list(actor=stage.cast.actor(stage.ben), entry=first, now=now)  # twice is once
    jobs_done(now)

    second.refresh_from_db()
    assert second.state == "offered"


def test_an_offer_that_a_rule_refuses_at_the_last_moment_is_not_booked(stage, taken):
    entry = waits(stage, stage.ben)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    work(stage, now)
    entry.refresh_from_db()
    close_stand(actor=stage.cast.actor(stage.cast.manager), stand=stage.creek, reason="x", now=now)

    with pytest.raises(Refused) as refusal:
        confirm_seat(actor=stage.cast.actor(stage.ben), entry=entry, now=now)

    assert codes_of(refusal.value) == ["stand_closed"]
    assert not Sit.objects.filter(state="booked").exists()


@pytest.mark.parametrize("ends", ["closed", "retired"])
def test_whoever_a_seat_was_held_for_waits_on_when_its_stand_is_closed(stage, taken, ends):
    give_fits(stage.oak, [DAY], fit=0.2, fits=False, verdict="unfit")
    entry = waits(stage, stage.ben, stand=None)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    work(stage, now)
    held_at = WaitingEntry.objects.get(id=entry.id).offered_stand
    manager = stage.cast.actor(stage.cast.manager)
    if ends == "closed":
        close_stand(actor=manager, stand=held_at, reason="Wasps", now=now)
    else:
        retire_stand(actor=manager, stand=held_at, now=now)

    facts_handled(now)

    entry.refresh_from_db()
    assert (entry.state, entry.offered_stand, entry.answer_by) == ("waiting", None, None)
    subject, urgent = mails(stage.ben)[-1]
    assert (subject, urgent) == ("No longer held: Creek, 08 Nov 2025", True)


def test_over_http_a_held_seat_is_confirmed(stage, taken, at_now):
    entry = waits(stage, stage.ben)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    work(stage, now)
    at_now.move_to(now)

    answer = stage.cast.client(stage.ben).post(f"{WAITING}{entry.id}/confirm/")

    assert answer.status_code == 201, answer.data
    assert answer.data["person"] == stage.ben.id


def test_a_seat_held_for_oneself_does_not_stand_in_ones_own_way(stage, taken):
    waits(stage, stage.ben)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    work(stage, now)

    sit = book_sit(
        actor=stage.cast.actor(stage.ben),
        stand=stage.creek,
        local_date=DAY,
        span="evening",
        now=now,
    )

    assert sit.person == stage.ben


def test_a_plan_gives_nobody_a_stand_in_which_a_place_is_held(stage, taken):
    waits(stage, stage.ben)
    now = shortly_before(taken)
    cancelled(stage, taken, now)
    work(stage, now)

    problem = gather(lands=[stage.cast.north], first_on=DAY, last_on=DAY, now=now).problem

    closed = {
        (outlook.stand_id, outlook.session.kind.value)
        for outlook in problem.outlooks
        if "held for the waiting list" in outlook.closed_because
    }
    assert closed == {(str(stage.creek.id), "evening")}

"""The waiting list: who gets a freed seat, when it is given, and who sees it."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from coop.api.problems import WrongOrder
from coop.audit.models import AuditEvent
from coop.jobs import services as jobs
from coop.jobs.models import JobState
from properties.land.services import close_property, lift_closure
from properties.people.models import Paper
from properties.stands.services import close_stand, open_stand
from scheduling.sits.models import SeatClaim, Sit
from scheduling.sits.waiting_jobs import waiting_due
from scheduling.sits.waiting_models import WaitingEntry
from scheduling.sits.waiting_services import WORK_WAITING_LIST, leave_list
from scheduling.sits.waiting_work import Worked
from tests.cast import NOW, make_member
from tests.scheduling.sits.stage import DAY, booked, facts_handled, give_fits
from tests.scheduling.sits.waiting import (
    MINUTE,
    WAITING,
    cancelled,
    jobs_done,
    mails,
    shortly_before,
    waits,
    work,
    work_queued,
)


def test_a_cancelled_seat_is_booked_for_whoever_is_next_and_they_are_told(stage, taken):
    entry = waits(stage, stage.ben)
    cancelled(stage, taken)

    jobs_done()

    sit = Sit.objects.get(state="booked")
    assert (sit.person, sit.stand) == (stage.ben, stage.creek)
    entry.refresh_from_db()
    assert (entry.state, entry.sit) == ("booked", sit)
    assert mails(stage.ben) == [("From the waiting list: Creek, 08 Nov 2025 is yours", False)]
    event = AuditEvent.objects.filter(object_id=str(sit.id)).get()
    assert event.actor_name == WORK_WAITING_LIST


def test_nothing_is_given_while_nothing_is_free(stage, taken):
    waits(stage, stage.ben)

    assert work(stage) == Worked(looked_at=1)
    assert Sit.objects.get() == taken


def test_whoever_has_fewest_sits_this_season_goes_first_then_whoever_asked_first(stage, taken, cal):
    first = waits(stage, stage.ben)
    second = waits(stage, cal, now=NOW + MINUTE)
    dan = make_member(stage.cast.cooperative, "Dan Fourth", stage.cast.north)
    third = waits(stage, dan, now=NOW + 2 * MINUTE)
    booked(stage, stage.ben, stand=stage.oak, day=DAY + timedelta(days=4))
    cancelled(stage, taken)

    work(stage)

    states = [WaitingEntry.objects.get(id=entry.id).state for entry in (first, second, third)]
    assert states == ["waiting", "booked", "waiting"]


def test_a_sit_of_last_season_does_not_put_anybody_back(stage, taken, cal):
    waits(stage, stage.ben)
    waits(stage, cal, now=NOW + MINUTE)
    old = booked(stage, stage.ben, stand=stage.oak, day=DAY + timedelta(days=4))
    Sit.objects.filter(id=old.id).update(local_date=DAY - timedelta(days=200))
    cancelled(stage, taken)

    work(stage)

    assert Sit.objects.get(state="booked", local_date=DAY).person == stage.ben


def test_one_who_may_not_sit_is_passed_by_and_stays_on_the_list(stage, taken, cal):
    barred = waits(stage, stage.ben)
    waits(stage, cal, now=NOW + MINUTE)
    Paper.objects.filter(person=stage.ben).update(expires_on=DAY - timedelta(days=1))
    cancelled(stage, taken)

    assert work(stage) == Worked(looked_at=2, booked=1)
    barred.refresh_from_db()
    assert barred.state == "waiting"
    assert Sit.objects.get(state="booked").person == cal


def test_any_stand_means_the_one_with_the_best_fit_to_which_nothing_objects(stage, taken, cal):
    other = make_member(stage.cast.cooperative, "Dan Fourth", stage.cast.north)
    oaks = [booked(stage, cal, stand=stage.oak), booked(stage, other, stand=stage.oak)]
    waits(stage, stage.ben, stand=None)
    give_fits(stage.creek, fit=0.7)
    for sit in (taken, *oaks):
        cancelled(stage, sit)

    work(stage)

    assert Sit.objects.get(state="booked").stand == stage.oak


def test_two_freed_seats_go_to_the_first_two(stage, cal):
    dan = make_member(stage.cast.cooperative, "Dan Fourth", stage.cast.north)
    eve = make_member(stage.cast.cooperative, "Eve Fifth", stage.cast.north)
    sits = [booked(stage), booked(stage, eve)]
    for after, person in enumerate((stage.ben, cal, dan)):
        waits(stage, person, stand="oak", now=NOW + after * MINUTE)
    for sit in sits:
        cancelled(stage, sit)

    assert work(stage) == Worked(looked_at=3, booked=2)
    assert {sit.person for sit in Sit.objects.filter(state="booked")} == {stage.ben, cal}
    assert SeatClaim.objects.count() == 2


def test_working_the_list_again_gives_nothing_twice(stage, taken, cal):
    waits(stage, stage.ben)
    waits(stage, cal, now=NOW + MINUTE)
    cancelled(stage, taken)

    runs = [work(stage), work(stage)]

    assert runs == [Worked(looked_at=2, booked=1), Worked(looked_at=1)]
    assert Sit.objects.filter(state="booked").count() == 1
    assert len(mails(stage.ben)) == 1


def test_many_facts_queue_one_run_and_none_where_nobody_waits(stage, taken):
    oak = booked(stage, stage.ben)
    cancelled(stage, oak)
    facts_handled()
    assert not work_queued().exists()

    waits(stage, stage.ben)
    cancelled(stage, taken)
    close_stand(actor=stage.cast.actor(stage.cast.manager), stand=stage.oak, reason="x", now=NOW)
    open_stand(actor=stage.cast.actor(stage.cast.manager), stand=stage.oak, reason="", now=NOW)
    facts_handled()

    assert work_queued().count() == 1


def test_a_run_whose_worker_died_is_run_again_from_the_rows(stage, taken, monkeypatch):
    waits(stage, stage.ben)
    cancelled(stage, taken)
    facts_handled()
    run = work_queued().get()

    def dies(*_args, **_named):
        raise SystemExit

    with monkeypatch.context() as patched:
        patched.setattr("scheduling.sits.waiting_notices.tell_of_seat", dies)
        with pytest.raises(SystemExit):
            jobs.run_job(run_id=run.id, now=NOW)
    assert not Sit.objects.filter(state="booked").exists()  # all of it or nothing
    run.refresh_from_db()
    assert run.state == JobState.RUNNING
    much_later = run.lease_until + MINUTE
    assert run.id in jobs.waiting(now=much_later)
    jobs.run_job(run_id=run.id, now=much_later)

    assert Sit.objects.get(state="booked").person == stage.ben


@pytest.mark.parametrize("what", ["stand", "property"])
def test_ground_that_opens_again_serves_those_who_wait(stage, what):
    manager = stage.cast.actor(stage.cast.manager)
    if what == "stand":
        close_stand(actor=manager, stand=stage.creek, reason="Rung", now=NOW)
    else:
        closure = close_property(
            actor=manager, land=stage.cast.north, first_on=DAY, last_on=DAY, reason="x", now=NOW
        )
    waits(stage, stage.ben)
    jobs_done()
    assert not Sit.objects.exists()
    if what == "stand":
        open_stand(actor=manager, stand=stage.creek, reason="Mended", now=NOW)
    else:
        lift_closure(actor=manager, closure=closure, now=NOW)

    jobs_done()

    assert Sit.objects.get().person == stage.ben


def test_the_list_ends_when_the_session_begins(stage, taken):
    entry = waits(stage, stage.ben)

    assert work(stage, taken.starts_at) == Worked(looked_at=1, ended=1)
    entry.refresh_from_db()
    assert (entry.state, entry.outcome) == ("ended", "The session began.")


def test_a_booked_one_leaves_by_cancelling_the_sit(stage, taken):
    entry = waits(stage, stage.ben)
    cancelled(stage, taken)
    work(stage)

    with pytest.raises(WrongOrder, match="cancel the sit"):
        leave_list(actor=stage.cast.actor(stage.ben), entry=entry, now=NOW)


def test_the_clock_asks_soon_after_an_answer_is_overdue_and_now_and_then_anyway(stage, taken):
    assert list(waiting_due(NOW)) == []
    waits(stage, stage.ben)
    now = shortly_before(taken).replace(minute=0, second=0, microsecond=0)
    (sweep,) = waiting_due(now)
    assert [due.period for due in waiting_due(now + 29 * MINUTE)] == [sweep.period]
    assert [due.period for due in waiting_due(now + 30 * MINUTE)] != [sweep.period]
    cancelled(stage, taken, now)
    work(stage, now)

    assert len(list(waiting_due(now + 59 * MINUTE))) == 1
    assert len(list(waiting_due(now + 60 * MINUTE))) == 2


def test_the_command_ends_with_a_reconciliation(stage, taken, at_now):
    waits(stage, stage.ben)
    cancelled(stage, taken)
    told = StringIO()

    call_command("workwaitinglist", property="North", stdout=told)

    assert told.getvalue() == (
        "North: 1 looked at = 1 booked + 0 offered + 0 ended + 0 still waiting\n"
    )


def test_over_http_a_member_sees_their_own_place_and_a_manager_all(stage, taken, cal, at_now):
    body = {"property": str(stage.cast.north.id), "local_date": str(DAY), "span": "evening"}
    ben, third = stage.cast.client(stage.ben), stage.cast.client(cal)
    made = ben.post(WAITING, {**body, "stand": str(stage.creek.id)}, format="json")
    at_now.shift(60)
    third.post(WAITING, {**body, "stand": str(stage.creek.id)}, format="json")

    assert made.status_code == 201, made.data
    assert made.data["place"] == {"number": 1, "of": 2} or made.data["place"]["number"] == 1
    (own,) = third.get(WAITING).data["results"]
    assert own["place"] == {"number": 2, "of": 2}
    assert own["stand_name"] == "Creek"
    everybody = stage.cast.client(stage.cast.manager).get(WAITING).data["results"]
    assert [row["person_name"] for row in everybody] == ["Ben Second", "Cal Third"]
    left = ben.post(f"{WAITING}{made.data['id']}/leave/")
    assert (left.status_code, left.data["state"], left.data["place"]) == (200, "left", None)
    assert third.get(WAITING).data["results"][0]["place"] == {"number": 1, "of": 1}


def test_a_list_reads_the_database_as_often_for_many_who_wait(
    stage, taken, cal, at_now, django_assert_max_num_queries
):
    waits(stage, stage.ben)
    waits(stage, cal, now=NOW + MINUTE)
    manager = stage.cast.client(stage.cast.manager)

    with django_assert_max_num_queries(14):
        assert len(manager.get(WAITING).data["results"]) == 2

"""The overdue ladder: who is asked, when, once; what answers it; that it survives a crash."""

from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.management import call_command
from django.db import IntegrityError, transaction

from coop.access.actors import system_actor
from coop.api.problems import WrongOrder
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.outbox.models import Message
from scheduling.sits import overdue_notices
from scheduling.sits.life_services import check_in, check_out, mark_missed
from scheduling.sits.models import Sit
from scheduling.sits.overdue_jobs import WATCH_OVERDUE
from scheduling.sits.overdue_ladder import Rung
from scheduling.sits.overdue_models import OverdueNotice
from scheduling.sits.overdue_services import acknowledge, checked_out, say_back_by, watch_overdue
from tests.cast import NOW
from tests.scheduling.sits.stage import booked, facts_handled, make_guest

MINUTE = timedelta(minutes=1)
WATCHER = system_actor("test")


@pytest.fixture
def sit(stage):
    """Mia, checked in at Oak and not out."""
    sit = booked(stage)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=sit, now=sit.starts_at)
    return Sit.objects.get(id=sit.id)


def watch(sit, minutes_after_end):
    return watch_overdue(
        property_id=sit.property_id, actor=WATCHER, now=sit.ends_at + minutes_after_end * MINUTE
    )


def rungs(sit):
    rows = OverdueNotice.objects.filter(sit=sit).order_by("raised_at", "rung")
    return list(rows.values_list("ladder_number", "rung"))


def subjects_to(person):
    return [
        message.subject.split(":")[0]
        for message in Message.objects.filter(recipient=person.email).order_by("created_at")
    ]


def test_the_hunter_then_the_managers_then_the_call_are_asked_each_after_its_time(stage, sit):
    for minutes, expected in [(29, 0), (30, 1), (59, 1), (60, 2), (89, 2), (90, 3), (500, 3)]:
        watch(sit, minutes)
        assert len(rungs(sit)) == expected, minutes

    assert subjects_to(stage.cast.member) == ["Are you back from Oak?"]
    assert subjects_to(stage.cast.manager) == ["Overdue", "Call now"]
    call = Message.objects.get(subject__startswith="Call now")
    assert "Kin of Mia Member at 555-0199" in call.text
    assert "They checked in at 08 Nov" in call.text


def test_no_rung_is_raised_twice_however_often_it_runs(stage, sit):
    for _again in range(3):
        watch(sit, 45)

    assert rungs(sit) == [(1, Rung.HUNTER)]
    assert Message.objects.count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        OverdueNotice.objects.create(sit=sit, ladder_number=1, rung=1, raised_at=NOW)


def test_a_run_that_dies_while_asking_leaves_nothing_and_the_next_one_asks(sit, monkeypatch):
    def dies(*_args, **_named):
        raise RuntimeError("killed")

    with monkeypatch.context() as patched:
        patched.setattr(overdue_notices, "ask", dies)
        with pytest.raises(RuntimeError):
            watch(sit, 45)
    assert rungs(sit) == []

    watch(sit, 46)
    assert rungs(sit) == [(1, Rung.HUNTER)]
    assert Message.objects.count() == 1


def test_after_an_outage_each_rung_still_waits_its_step_for_an_answer(sit):
    watch(sit, 600)
    watch(sit, 605)
    assert rungs(sit) == [(1, Rung.HUNTER)]
    watch(sit, 630)
    assert rungs(sit) == [(1, Rung.HUNTER), (1, Rung.MANAGERS)]


def test_a_booked_sit_without_check_in_starts_the_same_questions(stage):
    sit = booked(stage)

    for minutes in (30, 60, 90):
        watch(sit, minutes)

    assert [rung for _ladder, rung in rungs(sit)] == list(Rung)
    assert "neither checked in nor out" in Message.objects.earliest("created_at").text
    sit.refresh_from_db()
    assert sit.state == "booked", "the clock marks nobody missed"


@pytest.mark.parametrize("who", ["member", "manager"])
def test_an_acknowledgement_ends_the_ladder(stage, sit, who):
    watch(sit, 30)
    watch(sit, 60)
    person = getattr(stage.cast, who)

    answered = acknowledge(
        actor=stage.cast.actor(person), sit=sit, now=sit.ends_at + timedelta(hours=1)
    )

    assert answered.acknowledged_by == person.name
    for minutes in (90, 120, 900):
        assert watch(sit, minutes).looked_at == 0
    assert len(rungs(sit)) == 2
    assert subjects_to(stage.cast.manager)[-1] == "Answered"


def test_who_is_on_it_hears_once_that_the_hunter_is_down(stage, sit):
    watch(sit, 30)
    watch(sit, 60)
    manager = stage.cast.actor(stage.cast.manager)
    acknowledge(actor=manager, sit=sit, now=sit.ends_at + timedelta(hours=1))

    down = sit.ends_at + timedelta(hours=2)
    check_out(actor=stage.cast.actor(stage.cast.member), sit=sit, now=down)
    facts_handled(down)
    checked_out({"sit": str(sit.id)}, down)

    answers = Message.objects.filter(
        recipient=stage.cast.manager.email, subject__startswith="Answered"
    ).order_by("created_at", "id")
    assert [message.text.split(": ")[-1] for message in answers] == [
        f"{stage.cast.manager.name} has acknowledged the notice.",
        "checked out; down and away.",
    ]


def test_nobody_else_acknowledges_and_nobody_before_anybody_asked(stage, sit):
    mia = stage.cast.actor(stage.cast.member)
    with pytest.raises(WrongOrder, match="Nobody has asked"):
        acknowledge(actor=mia, sit=sit, now=sit.ends_at)
    watch(sit, 30)

    with pytest.raises(PermissionDenied):
        acknowledge(actor=stage.cast.actor(stage.ben), sit=sit, now=sit.ends_at)


def test_tracking_a_deer_moves_the_ladder_and_a_second_delay_is_asked_about_again(stage, sit):
    mia = stage.cast.actor(stage.cast.member)
    watch(sit, 30)
    back_by = sit.ends_at + timedelta(hours=3)

    say_back_by(actor=mia, sit=sit, back_by=back_by, now=sit.ends_at + 40 * MINUTE)

    watch(sit, 180 + 29)
    assert rungs(sit) == [(1, Rung.HUNTER)]
    for minutes in (30, 60, 90):
        watch(sit, 180 + minutes)
    assert rungs(sit) == [(1, 1), (2, 1), (2, 2), (2, 3)]
    assert subjects_to(stage.cast.member) == ["Are you back from Oak?"] * 2


def test_a_time_to_be_back_lies_ahead_and_not_too_far(stage, sit):
    mia = stage.cast.actor(stage.cast.member)
    for back_by, says in [
        (sit.ends_at, "passed"),
        (sit.ends_at + timedelta(hours=12, minutes=1), "too far"),
    ]:
        with pytest.raises(ValidationError, match=says):
            say_back_by(actor=mia, sit=sit, back_by=back_by, now=sit.ends_at)


def test_nobody_tracks_a_deer_from_home(stage):
    sit = booked(stage)
    with pytest.raises(WrongOrder, match="check in first"):
        say_back_by(
            actor=stage.cast.actor(stage.cast.member),
            sit=sit,
            back_by=sit.ends_at + timedelta(hours=1),
            now=sit.ends_at,
        )


def test_a_manager_checks_out_by_telephone_and_the_alarm_is_called_off(stage, sit):
    watch(sit, 30)
    watch(sit, 60)
    manager = stage.cast.actor(stage.cast.manager)
    home = sit.ends_at + 70 * MINUTE

    check_out(actor=manager, sit=sit, now=home, at=sit.ends_at)
    facts_handled(home)
    facts_handled(home)

    assert subjects_to(stage.cast.manager) == ["Overdue", "Answered"]
    assert watch(sit, 200).looked_at == 0


def test_a_sit_that_did_not_take_place_asks_nobody_further(stage):
    sit = booked(stage)
    watch(sit, 30)
    mark_missed(actor=stage.cast.actor(stage.cast.manager), sit=sit, now=sit.ends_at + 31 * MINUTE)
    facts_handled(sit.ends_at + 32 * MINUTE)

    assert watch(sit, 500).looked_at == 0
    assert subjects_to(stage.cast.manager) == []


def test_a_host_answers_for_the_guest(stage):
    sit = booked(stage, guests=[make_guest(stage.cast.member)])
    mia = stage.cast.actor(stage.cast.member)
    check_in(actor=mia, sit=sit, now=sit.starts_at)
    watch(sit, 30)
    assert OverdueNotice.objects.count() == 2

    acknowledge(actor=mia, sit=sit, now=sit.ends_at + 31 * MINUTE)

    assert watch(sit, 500).looked_at == 0


def test_the_schedule_finds_it_and_two_schedulers_leave_one_run(sit):
    early, late = sit.ends_at - MINUTE, sit.ends_at + 42 * MINUTE
    jobs.enqueue_due(now=early)
    assert not JobRun.objects.filter(name=WATCH_OVERDUE).exists()

    jobs.enqueue_due(now=late)
    jobs.enqueue_due(now=late)

    run = JobRun.objects.get(name=WATCH_OVERDUE)
    done = jobs.run_job(run_id=run.id, now=late)
    assert done.state == "done", done.error
    assert done.result["raised"] == {"hunter": 1, "managers": 0, "emergency_contact": 0}


def test_a_run_whose_worker_was_killed_is_taken_up_by_another(sit):
    late = sit.ends_at + 42 * MINUTE
    jobs.enqueue_due(now=late)
    run = JobRun.objects.get(name=WATCH_OVERDUE)
    jobs.claim(run_id=run.id, now=late)  # its worker dies here

    after_the_lease = late + timedelta(minutes=10)
    assert run.id in jobs.waiting(now=after_the_lease)
    jobs.run_job(run_id=run.id, now=after_the_lease)

    assert rungs(sit) == [(1, Rung.HUNTER)]


def test_the_command_does_the_same_and_ends_with_its_count(sit):
    out = StringIO()
    with time_machine.travel(sit.ends_at + 42 * MINUTE, tick=False):
        call_command("watchoverdue", stdout=out)

    assert "North: 1 sits looked at, raised 1 hunter, 0 managers" in out.getvalue()


def test_the_ladder_over_http(stage, sit):
    client = stage.cast.client(stage.cast.member)
    path = f"/api/v1/sits/{sit.id}/"
    with time_machine.travel(sit.ends_at + 31 * MINUTE, tick=False):
        early = client.post(path + "acknowledge/")
        watch(sit, 31)
        listed = client.get("/api/v1/sits/?overdue=true").json()["results"]
        answer = client.post(path + "acknowledge/")
        after = client.get("/api/v1/sits/?overdue=true").json()["results"]
        back_by = (sit.ends_at + timedelta(hours=2)).isoformat()
        moved = client.post(path + "tracking/", {"back_by": back_by})
        stranger = stage.cast.client(stage.cast.stranger).post(path + "acknowledge/")

    assert early.status_code == 409
    assert [row["id"] for row in listed] == [str(sit.id)]
    assert (answer.status_code, answer.data["acknowledged_by"]) == (200, "Mia Member")
    assert after == []
    assert (moved.status_code, moved.data["acknowledged_at"]) == (200, None)
    assert stranger.status_code == 404

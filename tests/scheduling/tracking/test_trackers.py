"""Who is on foot: joined, back later, left; and asked after like a sit when they are not back."""

from datetime import timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction

from coop.access.actors import system_actor
from coop.audit.models import AuditEvent
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.outbox.models import Message
from properties.emergency.presence import present_on
from scheduling.sits.life_services import check_in, check_out
from scheduling.sits.models import Sit
from scheduling.sits.overdue_ladder import Rung
from scheduling.sits.overdue_models import OverdueNotice
from scheduling.sits.overdue_services import watch_overdue
from scheduling.tracking.jobs import WATCH_TRACKERS
from scheduling.tracking.models import Tracker, TrackerNotice
from scheduling.tracking.tracker_services import watch_trackers

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
WATCHER = system_actor("test")


@pytest.fixture
def tracking(evening):
    return evening.opened()


@pytest.fixture
def out(evening, tracking):
    """Ben, on foot for two hours; he has not checked in at his stand."""
    return Tracker.objects.get(id=evening.join(tracking).json()["id"])


def watch(tracker, minutes_after):
    return watch_trackers(
        property_id=tracker.tracking.property_id,
        actor=WATCHER,
        now=tracker.back_by + minutes_after * MINUTE,
    )


def rungs(tracker):
    rows = TrackerNotice.objects.filter(tracker=tracker).order_by("raised_at", "rung")
    return list(rows.values_list("ladder_number", "rung"))


def subjects_to(person):
    words = ("tracking", "Overdue", "Call now", "Answered")
    return [
        subject
        for subject in Message.objects.filter(recipient=person.email)
        .order_by("created_at", "id")
        .values_list("subject", flat=True)
        if any(word in subject for word in words) and "on foot near" not in subject
    ]


def test_the_tracker_then_the_managers_then_the_call_are_asked_each_after_its_time(evening, out):
    manager = evening.cast.manager
    watch(out, 29)
    assert rungs(out) == []
    watch(out, 30)
    assert rungs(out) == [(1, Rung.HUNTER)]
    assert subjects_to(evening.ben) == ["Are you back from tracking?"]
    watch(out, 59)
    watch(out, 60)
    assert rungs(out)[1:] == [(1, Rung.MANAGERS)]
    watch(out, 90)
    assert rungs(out)[2:] == [(1, Rung.EMERGENCY_CONTACT)]
    assert [subject.split(":")[0] for subject in subjects_to(manager)] == ["Overdue", "Call now"]
    last = Message.objects.get(recipient=manager.email, subject__startswith="Call now")
    assert "Kin of Ben Second at 555-0199" in last.text
    assert last.urgent
    assert watch(out, 300).looked_at == 0


def test_a_watch_that_runs_twice_asks_once(evening, out):
    for _ in range(3):
        watch(out, 30)
    assert rungs(out) == [(1, Rung.HUNTER)]
    assert len(subjects_to(evening.ben)) == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        TrackerNotice.objects.create(
            tracker=out, ladder_number=1, rung=Rung.HUNTER, raised_at=out.back_by
        )


def test_whoever_has_said_that_they_are_back_is_not_asked(evening, out):
    assert evening.call(evening.ben, "post", f"trackers/{out.id}/leave/").status_code == 200
    assert watch(out, 200).looked_at == 0


def test_one_is_back_once_and_the_same_key_gets_the_same_answer(evening, out):
    client = evening.cast.client(evening.ben)
    path = f"/api/v1/trackers/{out.id}/leave/"
    key = {"HTTP_IDEMPOTENCY_KEY": "back-from-the-creek"}
    with time_machine.travel(evening.at, tick=False) as clock:
        first = client.post(path, **key)
        left = Tracker.objects.get(id=out.id).left_at
        clock.shift(MINUTE)
        same = client.post(path, **key)
        again = client.post(path)

    assert (first.status_code, first.json()) == (same.status_code, same.json())
    assert first.status_code == 200
    assert (again.status_code, again.json()["code"]) == (409, "wrong_order")
    assert "back already" in again.json()["detail"]
    assert Tracker.objects.get(id=out.id).left_at == left


def test_a_later_time_begins_a_new_ladder_and_stands_alarmed_managers_down(evening, out):
    watch(out, 30)
    watch(out, 60)
    at = out.back_by + 61 * MINUTE
    body = {"back_by": (at + timedelta(hours=1)).isoformat(), "area": "North of the road"}
    told = evening.call(evening.ben, "post", f"trackers/{out.id}/back-later/", body, at=at)
    assert told.json()["area"] == "North of the road"
    out.refresh_from_db()
    assert any(subject.startswith("Answered") for subject in subjects_to(evening.cast.manager))
    watch(out, 29)
    assert len(rungs(out)) == 2
    watch(out, 30)
    assert rungs(out)[-1] == (2, Rung.HUNTER)


def test_an_answer_ends_the_questions_and_nobody_answers_before_one(evening, out):
    path = f"trackers/{out.id}/acknowledge/"
    assert evening.call(evening.cast.manager, "post", path).status_code == 409
    watch(out, 30)
    at = out.back_by + 40 * MINUTE
    told = evening.call(evening.cast.manager, "post", path, at=at).json()
    assert told["acknowledged_by"] == evening.cast.manager.name
    watch(out, 300)
    assert rungs(out) == [(1, Rung.HUNTER)]


def test_who_is_on_it_hears_that_the_tracker_is_back(evening, out):
    watch(out, 30)
    watch(out, 60)
    for answer, minutes in (("acknowledge", 65), ("leave", 90)):
        at = out.back_by + minutes * MINUTE
        told = evening.call(evening.cast.manager, "post", f"trackers/{out.id}/{answer}/", at=at)
        assert told.status_code == 200

    answers = Message.objects.filter(
        recipient=evening.cast.manager.email, subject__startswith="Answered"
    ).order_by("created_at", "id")
    assert [message.text.split(": ")[-1] for message in answers] == [
        f"{evening.cast.manager.name} has acknowledged the notice.",
        "is back.",
    ]


def test_the_end_of_the_tracking_forgets_nobody_who_is_still_out(evening, tracking, out):
    evening.end(tracking, "recovered")
    told = Message.objects.get(recipient=evening.ben.email, subject__endswith="is over")
    assert "1 of those on foot" in told.text
    watch(out, 30)
    assert rungs(out) == [(1, Rung.HUNTER)]


def test_the_hunter_still_checked_in_is_asked_once_and_only_at_the_later_time(evening, tracking):
    sit = evening.sit
    back_h = (sit.ends_at - evening.at) / timedelta(hours=1) + 2
    mia = Tracker.objects.get(id=evening.join(tracking, evening.mia, hours=back_h).json()["id"])

    def watch_both(now):
        watch_overdue(property_id=sit.property_id, actor=WATCHER, now=now)
        watch_trackers(property_id=sit.property_id, actor=WATCHER, now=now)

    watch_both(sit.ends_at + 31 * MINUTE)
    assert OverdueNotice.objects.filter(sit=sit).count() == 0
    watch_both(mia.back_by + 30 * MINUTE)
    assert OverdueNotice.objects.filter(sit=sit).count() == 1
    assert rungs(mia) == []

    # Down from the stand, yet still on the trail: the tracker's own ladder goes on.
    check_out(actor=evening.cast.actor(evening.mia), sit=sit, now=mia.back_by + 31 * MINUTE)
    watch_both(mia.back_by + 32 * MINUTE)
    assert rungs(mia) == [(1, Rung.HUNTER)]


def test_a_seat_whose_ladder_would_ask_too_early_does_not_silence_the_trackers(evening, tracking):
    """Ben is checked in at his stand until nightfall and tracks for half an hour before."""
    sit = evening.near
    check_in(actor=evening.cast.actor(evening.ben), sit=sit, now=sit.starts_at)
    ben = Tracker.objects.get(id=evening.join(tracking, hours=0.5).json()["id"])
    assert ben.back_by < sit.ends_at
    watch(ben, 30)
    assert rungs(ben) == [(1, Rung.HUNTER)]
    assert Sit.objects.get(id=sit.id).back_by is None


def test_somebody_from_outside_is_asked_after_through_the_hunter(evening, tracking):
    answer = evening.join(tracking, evening.mia, name="Dora Dog", phone="555-0177")
    dora = Tracker.objects.get(id=answer.json()["id"])
    assert (answer.json()["name"], answer.json()["is_outsider"]) == ("Dora Dog", True)
    assert "555-0177" not in answer.content.decode()
    watch(dora, 30)
    assert subjects_to(evening.mia) == ["Is Dora Dog back from tracking?"]
    watch(dora, 60)
    overdue = Message.objects.get(
        recipient=evening.cast.manager.email, subject__startswith="Overdue"
    )
    assert "Dora Dog at 555-0177" in overdue.text


def test_one_joins_for_oneself_and_the_hunter_and_managers_for_others(evening, tracking):
    cast = evening.cast
    assert evening.join(tracking, evening.ben, name="Dora Dog").status_code == 403
    assert evening.join(tracking, evening.ben, person=str(evening.mia.id)).status_code == 403
    assert evening.join(tracking, cast.manager, person=str(evening.ben.id)).status_code == 201
    # Otto belongs to the south alone: the manager of the north does not see him.
    assert evening.join(tracking, cast.manager, person=str(cast.other_member.id)).status_code == 400
    assert evening.join(
        tracking, cast.coordinator, person=str(cast.other_member.id)
    ).status_code == (400)
    both = evening.join(tracking, evening.mia, person=str(evening.mia.id), name="Dora Dog")
    assert both.status_code == 400
    for person in (cast.landowner, cast.stranger):
        assert evening.join(tracking, person).status_code in (400, 403)


def test_the_hunter_says_of_somebody_checked_in_that_they_track(evening, tracking):
    """Ben comes down from Creek to help, and stays out past the end of his own sit."""
    sit = evening.near
    check_in(actor=evening.cast.actor(evening.ben), sit=sit, now=sit.starts_at)
    hours = (sit.ends_at - evening.at) / timedelta(hours=1) + 2

    told = evening.join(tracking, evening.mia, hours=hours, person=str(evening.ben.id))

    assert told.status_code == 201, told.content
    sit.refresh_from_db()
    assert sit.back_by == Tracker.objects.get(id=told.json()["id"]).back_by
    assert sit.tracked_at is None, "the deer was not hit from his stand"


def test_nobody_is_out_twice(evening, tracking, out):
    again = evening.join(tracking)
    assert (again.status_code, again.json()["code"]) == (409, "wrong_order")


@pytest.mark.parametrize("hours", [-0.1, 12.1])
def test_a_time_gone_by_or_too_far_ahead_is_refused(evening, tracking, hours):
    assert evening.join(tracking, hours=hours).status_code == 400


def test_others_neither_leave_nor_answer_for_them(evening, tracking):
    mia = evening.join(tracking, evening.mia).json()["id"]
    for what in ("leave", "acknowledge"):
        assert evening.call(evening.ben, "post", f"trackers/{mia}/{what}/").status_code == 403


def test_the_job_is_due_while_somebody_is_late_and_raises_what_is_due(evening, out):
    at = out.back_by + 31 * MINUTE
    jobs.enqueue_due(now=out.back_by - MINUTE)
    assert not JobRun.objects.filter(name=WATCH_TRACKERS).exists()
    with time_machine.travel(at, tick=False):
        jobs.enqueue_due(now=at)
        jobs.enqueue_due(now=at)
        run = JobRun.objects.get(name=WATCH_TRACKERS)
        done = jobs.run_job(run_id=run.id, now=at)
    assert done is not None
    assert done.result["raised"]["hunter"] == 1
    assert rungs(out) == [(1, Rung.HUNTER)]


@pytest.mark.parametrize(("days", "there"), [(-1, False), (0, True), (1, True), (2, False)])
def test_whoever_is_still_checked_in_past_midnight_is_still_there(evening, days, there):
    day = evening.sit.local_date + timedelta(days=days)
    assert (evening.mia.id in present_on(evening.cast.north.id, day)) is there
    # Ben has booked the same evening and never checked in.
    assert (evening.ben.id in present_on(evening.cast.north.id, day)) is (days == 0)


def test_whoever_tracks_counts_as_there_and_each_step_is_on_record(evening, out):
    day = evening.sit.local_date + timedelta(days=20)
    land_id = evening.cast.north.id
    assert present_on(land_id, day) == {evening.ben.id}
    evening.call(evening.ben, "post", f"trackers/{out.id}/leave/")
    assert present_on(land_id, day) == frozenset()
    events = AuditEvent.objects.filter(object_id=str(out.id), action="tracking:join")
    assert events.count() == 2

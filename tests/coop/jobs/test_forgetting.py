"""What has ended goes after its days, in batches; what is unfinished never does."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.core.checks import run_checks

from coop import keeping
from coop.access.roles import Action
from coop.api.models import IdempotentAnswer
from coop.audit import services as audit
from coop.audit.models import AuditEvent
from coop.jobs import forgetting, log, registry, services
from coop.jobs.models import JobLogLine, JobRun, JobState
from coop.outbox import forgetting as outbox_forgetting
from coop.outbox import services as outbox
from coop.outbox.models import Fact, Message, MessageAttachment, MessageState
from coop.outbox.webhooks.delivery import ANNOUNCE

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 1, 9, tzinfo=UTC)
A_SECOND = timedelta(seconds=1)
FINISHED = [JobState.DONE, JobState.FAILED, JobState.CANCELLED]


def days(count):
    return timedelta(days=count)


LONG_AGO = days(400) + A_SECOND


def unheard(_percent, _note):
    return None


class Job:
    """What the handler is given, by a clock of the test."""

    now = NOW

    def report(self, _percent, _note=""):
        return None


def run_ended(at, state=JobState.DONE):
    run = JobRun.objects.create(name="test.count", due_at=at, state=state, finished_at=at)
    log.write(run_id=run.id, text="attempt 1 begins", at=at)
    return run


def test_a_finished_run_loses_its_log_first_and_goes_a_year_later(settings):
    settings.KEPT_DAYS = settings.KEPT_DAYS | {"job_logs": 90, "jobs": 400}
    recent = run_ended(NOW - days(90))
    without_log = [run_ended(NOW - days(90) - A_SECOND, state) for state in FINISHED]
    gone = run_ended(NOW - days(400) - A_SECOND)

    job = registry.handler_of(forgetting.FORGET_RUNS)
    told = job(Job())

    assert told == {"logs": 4, "runs": 1}
    assert set(JobRun.objects.values_list("id", flat=True)) == {
        recent.id,
        *(run.id for run in without_log),
    }
    assert [line.run_id for line in JobLogLine.objects.all()] == [recent.id]
    assert not JobRun.objects.filter(id=gone.id).exists()


@pytest.mark.parametrize("state", [JobState.QUEUED, JobState.RUNNING])
def test_a_run_that_is_not_finished_stays_with_its_log_however_old_it_is(state):
    long_ago = NOW - days(5000)
    run = run_ended(long_ago, state)

    registry.handler_of(forgetting.FORGET_RUNS)(Job())

    assert JobRun.objects.filter(id=run.id).exists()
    assert JobLogLine.objects.filter(run=run).exists()


def test_rows_go_batch_by_batch_and_a_cancelled_job_stops_between_two(monkeypatch):
    monkeypatch.setattr(keeping, "BATCH", 2)
    for _each in range(5):
        run_ended(NOW - days(500))
    told = []

    def stop_after_two(_percent, note):
        told.append(note)
        if len(told) == 2:
            raise services.JobCancelled

    with pytest.raises(services.JobCancelled):
        forgetting.forget_old_runs(now=NOW, report=stop_after_two)
    assert JobRun.objects.count() == 1
    assert forgetting.forget_old_runs(now=NOW, report=unheard) == 1
    assert told == ["2 so far", "4 so far"]


def test_an_answer_kept_for_a_key_goes_after_its_days_and_no_sooner(settings):
    settings.KEPT_DAYS = settings.KEPT_DAYS | {"answers": 30}
    for key, age in (("old", days(30) + A_SECOND), ("young", days(30))):
        row = IdempotentAnswer.objects.create(
            caller_digest="c", key=key, method="POST", path="/api/v1/sits/", body_digest="b"
        )
        IdempotentAnswer.objects.filter(id=row.id).update(created_at=NOW - age)

    assert registry.handler_of(forgetting.FORGET_ANSWERS)(Job()) == {"answers": 1}
    assert [row.key for row in IdempotentAnswer.objects.all()] == ["young"]


def test_a_fact_goes_once_it_was_handed_on_and_nobody_waits_to_be_told_of_it(settings):
    settings.KEPT_DAYS = settings.KEPT_DAYS | {"facts": 30}
    old = NOW - days(30) - A_SECOND

    def fact(handled_at, **fields):
        written = outbox.publish(topic="test.topic", ids={}, now=old)
        Fact.objects.filter(id=written.id).update(handled_at=handled_at, **fields)
        return written

    fact(old)
    kept = [
        fact(NOW - days(30)),
        fact(None),
        fact(None, failed_at=old),
        fact(old),
    ]
    kept.append(outbox.publish(topic=ANNOUNCE, ids={"fact": kept[-1].id}, now=NOW))

    assert outbox_forgetting.forget_old_facts(now=NOW, report=unheard) == 1
    assert set(Fact.objects.values_list("id", flat=True)) == {one.id for one in kept}


def letter(key, state=MessageState.SENT, age=LONG_AGO, **fields):
    message = outbox.write_message(
        once_key=key,
        recipient="max@cooperative.example",
        subject="Report",
        text="Ridge ladder",
        now=NOW - age,
        attachments=[outbox.Attachment(name="r.pdf", media_type="application/pdf", content=b"%")],
        **fields,
    )
    Message.objects.filter(id=message.id).update(state=state, sent_at=NOW - age)
    return message


def test_an_old_letter_is_emptied_and_that_it_was_sent_stays(settings):
    settings.KEPT_DAYS = settings.KEPT_DAYS | {"letters": 400}
    old = letter("overdue:1", html="<p>Ridge ladder</p>")
    letter("withheld", MessageState.WITHHELD)

    assert outbox_forgetting.empty_old_letters(now=NOW, report=unheard) == 2
    assert outbox_forgetting.empty_old_letters(now=NOW, report=unheard) == 0

    old.refresh_from_db()
    assert (old.text, old.html, old.subject) == ("", "", "Report")
    assert old.sent_at == NOW - days(400) - A_SECOND
    assert not MessageAttachment.objects.exists()
    again = letter("overdue:1")
    assert again.id == old.id


def test_a_letter_that_may_still_leave_and_one_that_is_young_keep_their_text():
    letter("young", age=days(400))
    letter("dead", MessageState.DEAD)
    letter("waiting", MessageState.WAITING)

    assert outbox_forgetting.empty_old_letters(now=NOW, report=unheard) == 0
    assert not Message.objects.filter(text="").exists()
    assert MessageAttachment.objects.count() == 3


def test_it_is_due_once_a_night(monkeypatch):
    names = {forgetting.FORGET_RUNS, forgetting.FORGET_ANSWERS, outbox_forgetting.FORGET}
    schedules = {name: registry._schedules[name] for name in names}
    monkeypatch.setattr(registry, "_schedules", schedules)

    services.enqueue_due(now=NOW.replace(hour=7))
    assert not JobRun.objects.exists()
    for hour in (8, 9, 23):
        services.enqueue_due(now=NOW.replace(hour=hour))
    assert {run.name for run in JobRun.objects.all()} == names
    assert JobRun.objects.count() == 3


def test_the_audit_record_is_never_touched(cast):
    actor = cast.actor(cast.manager)
    run = run_ended(NOW - days(5000))
    audit.record(actor=actor, action=Action.JOB_START, target=run, now=NOW - days(5000))
    events = AuditEvent.objects.count()

    for name in (forgetting.FORGET_RUNS, forgetting.FORGET_ANSWERS, outbox_forgetting.FORGET):
        registry.handler_of(name)(Job())

    assert not JobRun.objects.exists()
    assert AuditEvent.objects.count() == events > 0


@pytest.mark.parametrize(
    ("kept", "told"),
    [
        ({"answers": 6}, "answers: at least 7 days"),
        ({"jobs": 399}, "jobs: at least 400 days"),
        ({"sits": 400}, "sits: no such kind"),
    ],
)
def test_days_that_would_forget_too_soon_are_refused_by_the_check(settings, kept, told):
    assert not [found for found in run_checks() if found.id == "coop.E003"]

    settings.KEPT_DAYS = settings.KEPT_DAYS | kept

    (found,) = [found for found in run_checks() if found.id == "coop.E003"]
    assert told in found.msg


def test_the_page_on_deployment_tells_the_days_and_the_least(settings):
    page = Path(settings.BASE_DIR, "coop", "docs", "deployment.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \| (\d+) \| (\d+) \|", page, flags=re.MULTILINE)

    told = {kind: (int(default), int(least)) for kind, default, least in rows}

    assert told == {
        kind: (settings.KEPT_DAYS[kind], least) for kind, least in keeping.LEAST_DAYS.items()
    }
    variable = ",".join(f"{kind}={days}" for kind, days in settings.KEPT_DAYS.items())
    assert f"| `COOP_KEPT_DAYS` | `{variable}` |" in page

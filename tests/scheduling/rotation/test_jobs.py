"""When drafts are computed, who may publish them, and which runs stop half-way."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied

from coop.access.roles import Role
from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from properties.wind.jobs import FITS_COMPUTED
from scheduling.rotation import jobs as rotation_jobs
from scheduling.rotation import services
from scheduling.rotation.models import PlanState, RotationPlan
from tests.cast import NOW, grant, make_member
from tests.scheduling.rotation.test_plans_that_are_published import FIRST, LAST, wish
from tests.scheduling.sits.stage import make_stage

SETTLED = NOW + timedelta(minutes=10)


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def drafts() -> list[JobRun]:
    return list(JobRun.objects.filter(name=rotation_jobs.RECOMPUTE).order_by("created_at"))


def fits_computed(land, at=NOW) -> None:
    outbox.publish(topic=FITS_COMPUTED, ids={"property": land.id}, now=at)
    outbox.drain(now=at)


def share_a_member(stage):
    return make_member(stage.cast.cooperative, "Nell Both", stage.cast.north, stage.cast.south)


def test_new_fits_lead_to_one_draft_for_the_group_once_they_have_settled(stage):
    share_a_member(stage)
    wish(stage, stage.cast.member, 1)
    fits_computed(stage.cast.north)
    fits_computed(stage.cast.south, NOW + timedelta(minutes=4))

    (run,) = drafts()
    assert run.due_at == SETTLED
    lands = {str(stage.cast.north.id), str(stage.cast.south.id)}
    assert set(run.parameters["properties"]) == lands
    assert jobs.run_job(run_id=run.id, now=NOW) is None
    done = jobs.run_job(run_id=run.id, now=SETTLED)
    assert done is not None
    assert done.state == JobState.DONE, done.error
    assert RotationPlan.objects.get().state == PlanState.DRAFT


def test_new_fits_where_nobody_wishes_or_sits_lead_to_none(stage):
    fits_computed(stage.cast.north)
    gone = wish(stage, stage.cast.member, 1)
    gone.withdrawn_at = NOW
    gone.save()
    fits_computed(stage.cast.north)
    assert drafts() == []


def test_a_request_hurries_the_draft_that_waits_for_fits_to_settle(stage):
    wish(stage, stage.cast.member, 1)
    fits_computed(stage.cast.north)
    run = rotation_jobs.queue(lands=[stage.cast.north], now=NOW)
    assert [one.id for one in drafts()] == [run.id]
    done = jobs.run_job(run_id=run.id, now=NOW)
    assert done is not None
    assert done.state == JobState.DONE, done.error


def test_every_group_is_planned_once_a_local_night_after_three(stage):
    three = datetime(2025, 11, 1, 3, tzinfo=ZoneInfo(stage.cast.north.time_zone)).astimezone(UTC)
    share_a_member(stage)
    early = list(rotation_jobs.nightly(three - timedelta(minutes=1)))
    found = [due for due in rotation_jobs.nightly(three) if due not in early]
    lands = {str(stage.cast.north.id), str(stage.cast.south.id)}
    (group,) = [due for due in found if set(due.parameters["properties"]) & lands]
    assert set(group.parameters["properties"]) == lands
    first, again = jobs.enqueue_due(now=three), jobs.enqueue_due(now=three)
    planned = {run.id for run in first if run.name == rotation_jobs.RECOMPUTE}
    assert not [run for run in again if run.name == rotation_jobs.RECOMPUTE]
    assert planned == {run.id for run in drafts()}


def test_a_run_stops_between_two_searches_when_a_later_one_is_due(stage, monkeypatch):
    wish(stage, stage.cast.member, 1)
    older = rotation_jobs.queue(lands=[stage.cast.north], now=NOW)
    report, aims = jobs.LeasedRun.report, []

    def report_and_ask_again(leased, percent, note=""):
        report(leased, percent, note)
        if leased.run_id == older.id and "found, at most" in note:
            aims.append(note)
            rotation_jobs.queue(lands=[stage.cast.north], now=NOW)

    monkeypatch.setattr(jobs.LeasedRun, "report", report_and_ask_again)
    stopped = jobs.run_job(run_id=older.id, now=NOW)
    newer = drafts()[-1]

    assert stopped is not None
    assert (stopped.state, stopped.progress_note) == (
        JobState.CANCELLED,
        "superseded by a later run",
    )
    assert len(aims) == 1
    assert not RotationPlan.objects.exists()
    assert newer.id != older.id
    done = jobs.run_job(run_id=newer.id, now=NOW)
    assert done is not None
    assert done.state == JobState.DONE, done.error
    assert jobs.run_job(run_id=older.id, now=NOW + timedelta(days=1)) is None


def test_a_run_goes_on_while_the_next_one_waits_for_fits_to_settle(stage):
    wish(stage, stage.cast.member, 1)
    older = rotation_jobs.queue(lands=[stage.cast.north], now=NOW)
    leased = jobs.claim(run_id=older.id, now=NOW)
    assert leased is not None
    later = rotation_jobs.queue(lands=[stage.cast.north], now=NOW + timedelta(days=10_000))
    assert later.id != older.id
    leased.stop_if_superseded()
    assert JobRun.objects.get(id=older.id).state == JobState.RUNNING


@dataclass
class Heard:
    """A job's context that remembers what it was told."""

    parameters: dict[str, Any]
    now: Any = NOW
    remembered: dict[str, Any] = field(default_factory=dict)
    notes: list[tuple[int, str]] = field(default_factory=list)

    def remember(self, **facts: Any) -> None:
        self.remembered.update(facts)

    def report(self, progress_pct: int, note: str = "") -> None:
        self.notes.append((progress_pct, note))

    def stop_if_superseded(self) -> None:
        pass


def test_progress_tells_the_best_found_and_what_none_exceeds_aim_by_aim(stage):
    wish(stage, stage.cast.member, 2)
    heard = Heard(parameters={"properties": [str(stage.cast.north.id)]})
    rotation_jobs.recompute(heard)
    assert "sits: 2 found, at most 2" in [note for _, note in heard.notes]
    aims = [note.partition(":")[0] for _, note in heard.notes if "at most" in note]
    assert aims == ["sits", "first wishes", "worst served", "quality"]
    percents = [percent for percent, _ in heard.notes]
    assert percents == sorted(percents)


def joint_draft(stage) -> RotationPlan:
    cast = stage.cast
    return services.recompute_rotation(
        actor=cast.actor(cast.coordinator),
        lands=[cast.north, cast.south],
        first_on=FIRST,
        last_on=LAST,
        now=NOW,
    )


def test_a_joint_plan_is_published_by_no_manager_of_a_part(stage):
    plan = joint_draft(stage)
    with pytest.raises(PermissionDenied):
        services.publish_plan(actor=stage.cast.actor(stage.cast.manager), plan=plan, now=NOW)
    assert RotationPlan.objects.get().state == PlanState.DRAFT


@pytest.mark.parametrize("who", ["coordinator", "manager of both"])
def test_a_joint_plan_is_published_by_a_coordinator_or_whoever_manages_it_all(stage, who):
    cast = stage.cast
    person = cast.coordinator
    if who == "manager of both":
        person = cast.manager
        grant(person, Role.MANAGER, cast.south)
    published = services.publish_plan(actor=cast.actor(person), plan=joint_draft(stage), now=NOW)
    assert published.plan.state == PlanState.PUBLISHED


def test_a_run_whose_worker_died_with_the_draft_stored_makes_no_second_one(stage, monkeypatch):
    wish(stage, stage.cast.member, 1)
    run = rotation_jobs.queue(lands=[stage.cast.north], now=NOW)

    class Killed(BaseException):
        pass

    def killed(*_arguments, **_named):
        raise Killed

    with monkeypatch.context() as dying:
        dying.setattr(jobs, "_finish", killed)
        with pytest.raises(Killed):
            jobs.run_job(run_id=run.id, now=NOW)
    run.refresh_from_db()

    again = jobs.run_job(run_id=run.id, now=run.lease_until + timedelta(minutes=1))

    assert again is not None
    assert (again.state, again.attempts) == (JobState.DONE, 2)
    assert again.result["plan"] == str(RotationPlan.objects.get().id)


def test_a_worker_that_lost_its_lease_leaves_no_draft(stage):
    wish(stage, stage.cast.member, 1)
    run = rotation_jobs.queue(lands=[stage.cast.north], now=NOW)
    late = jobs.claim(run_id=run.id, now=NOW)
    late.report = lambda *_told: None
    late.stop_if_superseded = lambda: None
    jobs.run_job(run_id=run.id, now=NOW + timedelta(hours=1))

    with pytest.raises(jobs.JobCancelled):
        rotation_jobs.recompute(late)

    assert RotationPlan.objects.count() == 1

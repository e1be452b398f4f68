"""A manager asks what single loosened rules would serve; members and neighbours do not."""

import json
from datetime import date

import pytest
import time_machine

from coop.audit.models import AuditEvent
from coop.jobs import services as jobs
from coop.jobs.models import JobState
from scheduling.rotation import jobs as rotation_jobs
from scheduling.rotation import relaxation_services, services
from scheduling.rotation.models import RotationPlan
from tests.cast import NOW
from tests.scheduling.rotation.test_plans_that_are_published import compute, wish
from tests.scheduling.sits.stage import make_stage


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def url_of(plan) -> str:
    return f"/api/v1/rotation-plans/{plan.id}/relaxations/"


def test_the_answer_names_people_and_says_how_it_is_known(stage):
    stage.cast.cooperative.settings = {"house_rules": {"weekly_sits": 2}}
    stage.cast.cooperative.save()
    wish(stage, stage.cast.member, 30)
    plan = compute(stage)
    client = stage.cast.client(stage.cast.manager)
    before = client.get(url_of(plan))
    with time_machine.travel(NOW, tick=False):
        started = client.post(url_of(plan))
        again = client.post(url_of(plan))
    run = jobs.run_job(run_id=started.data["job"], now=NOW)
    answer = client.get(url_of(plan))

    assert (before.status_code, started.status_code, again.data) == (404, 202, started.data)
    assert run is not None
    assert (run.name, run.state) == (rotation_jobs.RELAXATIONS, JobState.DONE), run.error
    assert answer.status_code == 200
    found = {(gain["code"], gain["target"]): gain for gain in answer.data["gains"]}
    weekly = found["weekly_limit", "member"]
    assert weekly["sentence"].startswith("Member Mia Member allowed")
    assert weekly["target_id"] == str(stage.cast.member.id)
    assert (weekly["more_sits_at_least"], weekly["more_sits_at_most"]) == (1, 1)
    assert weekly["basis"] == "solved"
    assert run.result["with_gain"] == len(answer.data["gains"])


def test_the_run_itself_tells_counts_alone(stage):
    wish(stage, stage.cast.member, 30)
    run = rotation_jobs.queue_relaxations(plan=compute(stage), now=NOW)
    done = jobs.run_job(run_id=run.id, now=NOW)
    assert done is not None
    told = json.dumps([done.result, done.progress_note])
    assert str(stage.cast.member.id) not in told
    assert stage.cast.member.name not in told


def test_the_plan_itself_stays_as_it_is(stage):
    wish(stage, stage.cast.member, 30)
    plan = compute(stage)
    before = (plan.fingerprint, plan.result, plan.explanations, plan.version)
    relaxation_services.weigh_relaxations(
        actor=stage.cast.actor(stage.cast.manager), plan=plan, now=NOW
    )
    plan.refresh_from_db()
    assert (plan.fingerprint, plan.result, plan.explanations, plan.version) == before
    event = AuditEvent.objects.order_by("-recorded_at", "-id")[0]
    assert "relaxations" in event.reason
    assert "relaxations" not in event.after


def test_a_member_may_not_ask_though_they_see_the_plan(stage):
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    services.publish_plan(actor=stage.cast.actor(stage.cast.coordinator), plan=plan, now=NOW)
    client = stage.cast.client(stage.cast.member)
    assert client.get(url_of(plan)).status_code == 403
    assert client.post(url_of(plan)).status_code == 403
    assert stage.cast.client(stage.cast.stranger).post(url_of(plan)).status_code == 404


def test_who_manages_only_part_of_a_joint_plan_may_not_ask(stage):
    cast = stage.cast
    plan = services.recompute_rotation(
        actor=cast.actor(cast.coordinator),
        lands=[cast.north, cast.south],
        first_on=date(2025, 11, 5),
        last_on=date(2025, 11, 6),
        now=NOW,
    )
    assert cast.client(cast.manager).post(url_of(plan)).status_code == 403
    assert cast.client(cast.coordinator).post(url_of(plan)).status_code == 202


def test_a_plan_in_which_everybody_was_served_has_nothing_to_gain(stage):
    wish(stage, stage.cast.member, 1)
    plan = relaxation_services.weigh_relaxations(
        actor=stage.cast.actor(stage.cast.manager), plan=compute(stage), now=NOW
    )
    assert plan.relaxations["gains"] == []
    assert RotationPlan.objects.get(id=plan.id).relaxations == plan.relaxations

"""From wishes to a draft, from a draft to sits, and what is told to whom."""

from datetime import date, timedelta

import pytest
import time_machine

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.jobs.models import JobState
from coop.outbox.models import Message
from properties.people.models import Paper, Person
from scheduling.rotation import jobs as rotation_jobs
from scheduling.rotation import services
from scheduling.rotation.conflicts import NOT_OFFERED_CODE
from scheduling.rotation.gather import gather
from scheduling.rotation.models import PlanState, RotationPlan
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import SeatClaim, Sit, SitOrigin, SitRequest, SitState
from tests.cast import NOW, make_member
from tests.scheduling.sits.stage import booked, give_fits, make_stage

FIRST, LAST = date(2025, 11, 5), date(2025, 11, 9)


@pytest.fixture
def stage(cast):
    return make_stage(cast)


def wish(stage, person, sits: int, **fields) -> SitRequest:
    return SitRequest.objects.create(
        property=stage.cast.north,
        person=person,
        first_on=FIRST,
        last_on=LAST,
        wanted_sits=sits,
        **fields,
    )


def compute(stage, actor=None) -> RotationPlan:
    return services.recompute_rotation(
        actor=actor or stage.cast.actor(stage.cast.coordinator),
        lands=[stage.cast.north],
        first_on=FIRST,
        last_on=LAST,
        now=NOW,
    )


def publish(stage, plan):
    return services.publish_plan(actor=stage.cast.actor(stage.cast.coordinator), plan=plan, now=NOW)


def seats_of(plan) -> set[tuple]:
    return set(plan.seats.values_list("person_id", "stand_id", "local_date", "kind"))


def test_a_draft_serves_the_wishes_within_the_rules_and_says_how_good_it_is(stage):
    wish(stage, stage.cast.member, 2)

    plan = compute(stage)

    assert plan.state == PlanState.DRAFT
    assert plan.seats.count() == 2
    sits = plan.result["levels"][0]
    assert (sits["name"], sits["value"], sits["bound"], sits["proven"]) == ("sits", 2, 2, True)
    assert not Sit.objects.filter(origin=SitOrigin.ROTATION).exists()


def test_publishing_makes_sits_with_claims_and_tells_the_member_once(stage):
    wish(stage, stage.cast.member, 2)
    plan = compute(stage)

    published = publish(stage, plan)

    sits = Sit.objects.filter(origin=SitOrigin.ROTATION, state=SitState.BOOKED)
    assert (published.placed.added, sits.count(), SeatClaim.objects.count()) == (2, 2, 2)
    assert all(sit.fit is not None and sit.starts_at < sit.ends_at for sit in sits)
    (message,) = Message.objects.filter(recipient=stage.cast.member.email)
    assert "lawful or safe" in message.text


def test_a_draft_is_published_once(stage):
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    publish(stage, plan)

    with pytest.raises(services.Problem, match="published"):
        publish(stage, plan)


def test_a_draft_whose_world_moved_on_is_stale_and_changes_nothing(stage):
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    wish(stage, make_member(stage.cast.cooperative, "Nell Newcomer", stage.cast.north), 1)

    with pytest.raises(services.StalePlan):
        publish(stage, plan)

    assert not Sit.objects.filter(origin=SitOrigin.ROTATION).exists()


def test_a_draft_does_not_go_stale_by_the_clock_while_a_stand_is_closed(stage):
    stage.oak.is_open, stage.oak.closed_reason = False, "Strap frayed."
    stage.oak.save()
    wish(stage, stage.cast.member, 2)
    plan = compute(stage)
    services.publish_plan(
        actor=stage.cast.actor(stage.cast.coordinator), plan=plan, now=NOW + timedelta(minutes=47)
    )
    plan.refresh_from_db()
    assert plan.state == PlanState.PUBLISHED


def test_the_same_wishes_leave_published_sits_and_their_ids_where_they_are(stage):
    wish(stage, stage.cast.member, 2)
    publish(stage, compute(stage))
    before = set(Sit.objects.values_list("id", "stand_id", "local_date", "span", "state"))
    told = Message.objects.count()

    again = publish(stage, compute(stage))

    assert (again.placed.kept, again.placed.added, again.placed.withdrawn) == (2, 0, 0)
    assert set(Sit.objects.values_list("id", "stand_id", "local_date", "span", "state")) == before
    assert Message.objects.count() == told
    assert RotationPlan.objects.filter(state=PlanState.PUBLISHED).count() == 1


def test_a_plan_that_moves_nobody_counts_no_change_though_part_of_it_is_frozen(stage):
    wish(stage, stage.cast.member, 2)
    publish(stage, compute(stage))
    first = Sit.objects.order_by("starts_at").first()
    # The second plan is made when the first of the two sits is frozen already.
    plan = services.recompute_rotation(
        actor=system_actor("test"),
        lands=[stage.cast.north],
        first_on=FIRST,
        last_on=LAST,
        now=first.starts_at - timedelta(hours=30),
    )

    changes = plan.result["levels"][-1]
    assert plan.seats.filter(locked=True).exists()
    assert (changes["name"], changes["value"]) == ("changes", 0)


def test_a_withdrawn_wish_gives_its_sits_back_at_the_next_plan(stage):
    request = wish(stage, stage.cast.member, 2)
    publish(stage, compute(stage))
    request.withdrawn_at = NOW
    request.save()

    published = publish(stage, compute(stage))

    assert published.placed.withdrawn == 2
    assert not SeatClaim.objects.exists()
    assert set(Sit.objects.values_list("state", flat=True)) == {SitState.CANCELLED}


def test_a_sit_that_begins_within_the_freeze_never_moves(stage):
    wish(stage, stage.cast.member, 1)
    publish(stage, compute(stage))
    sit = Sit.objects.get()
    SitRequest.objects.update(withdrawn_at=NOW)
    shortly_before = sit.starts_at - timedelta(hours=20)

    plan = services.recompute_rotation(
        actor=system_actor("test"),
        lands=[stage.cast.north],
        first_on=FIRST,
        last_on=LAST,
        now=shortly_before,
    )

    assert plan.seats.get().locked


def test_a_member_who_asked_for_more_than_can_be_had_is_told_what_stood_in_the_way(stage):
    wish(stage, stage.cast.member, 30)
    plan = compute(stage)
    publish(stage, plan)

    answer = stage.cast.client(stage.cast.member).get(f"/api/v1/rotation-plans/{plan.id}/unmet/")

    (own,) = answer.data
    assert own["sits"] < own["sits_requested"]
    assert own["obstacles"]
    assert all(item["code"] and item["sentence"] for item in own["obstacles"])


@pytest.mark.parametrize(("units", "gust"), [("us", "26.8 mph"), ("metric", "12.0 m/s")])
def test_a_stand_that_gusts_close_is_explained_in_the_readers_units(stage, units, gust):
    for stand in (stage.oak, stage.creek):
        give_fits(stand, gust_mps=12.0)
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    Person.objects.filter(id=stage.cast.coordinator.id).update(units=units)

    client = stage.cast.client(stage.cast.coordinator)
    (unmet,) = client.get(f"/api/v1/rotation-plans/{plan.id}/unmet/").json()

    closed = [one for one in unmet["obstacles"] if one["code"] == NOT_OFFERED_CODE]
    assert closed
    assert all(gust in one["sentence"] for one in closed)


def test_a_plan_from_before_units_were_kept_is_explained_as_it_was(stage):
    for stand in (stage.oak, stage.creek):
        give_fits(stand, gust_mps=12.0)
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    for one in plan.explanations[0]["obstacles"]:
        del one["sentence_us"]
    plan.save(update_fields=["explanations"])

    client = stage.cast.client(stage.cast.coordinator)
    (unmet,) = client.get(f"/api/v1/rotation-plans/{plan.id}/unmet/").json()

    assert all("12.0 m/s" in one["sentence"] for one in unmet["obstacles"])


def test_a_member_whose_paper_expired_is_told_that_and_not_that_they_are_busy(stage):
    wish(stage, stage.cast.member, 1)
    Paper.objects.filter(person=stage.cast.member, kind="licence").update(
        expires_on=date(2025, 1, 1)
    )

    plan = compute(stage)

    (unmet,) = plan.explanations
    assert plan.seats.count() == 0
    assert any("licence" in sentence for sentence in unmet["kept_out"])
    assert "Below is what kept you out" in unmet["sentence"]
    assert "not free" not in unmet["sentence"]


def test_a_member_sees_published_plans_and_no_draft(stage):
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    client = stage.cast.client(stage.cast.member)
    url = f"/api/v1/rotation-plans/{plan.id}/"
    before = client.get(url).status_code
    publish(stage, plan)

    assert before == 404
    assert client.get(url).data["state"] == "published"
    assert client.post(url + "publish/").status_code == 403


def test_a_stranger_does_not_learn_that_a_plan_exists(stage):
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    publish(stage, plan)
    client = stage.cast.client(stage.cast.stranger)

    assert client.get("/api/v1/rotation-plans/").data["results"] == []
    for path in ("", "seats/", "unmet/", "preview/"):
        assert client.get(f"/api/v1/rotation-plans/{plan.id}/{path}").status_code == 404
    assert client.post(f"/api/v1/rotation-plans/{plan.id}/publish/").status_code == 404


def test_a_manager_looks_at_the_difference_and_publishes_over_http(stage):
    wish(stage, stage.cast.member, 2)
    plan = compute(stage)
    client = stage.cast.client(stage.cast.manager)
    url = f"/api/v1/rotation-plans/{plan.id}/"

    with time_machine.travel(NOW, tick=False):
        preview = client.get(url + "preview/")
        published = client.post(url + "publish/")

    assert [(row["person_name"], len(row["added"])) for row in preview.data] == [("Mia Member", 2)]
    assert published.status_code == 200, published.data
    assert published.data["added"] == 2


def test_a_stale_draft_is_refused_over_http_and_remembered_as_stale(stage):
    wish(stage, stage.cast.member, 1)
    plan = compute(stage)
    SitRequest.objects.update(wanted_sits=2)

    with time_machine.travel(NOW, tick=False):
        answer = stage.cast.client(stage.cast.manager).post(
            f"/api/v1/rotation-plans/{plan.id}/publish/"
        )

    assert (answer.status_code, answer.data["code"]) == (409, "stale_plan")
    plan.refresh_from_db()
    assert plan.state == PlanState.STALE


def test_a_sit_cancelled_by_its_member_is_not_resurrected_without_a_wish(stage):
    request = wish(stage, stage.cast.member, 1)
    publish(stage, compute(stage))
    sit = Sit.objects.get()
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=sit, reason="ill", now=NOW)
    request.withdrawn_at = NOW
    request.save()

    publish(stage, compute(stage))

    assert list(Sit.objects.values_list("state", flat=True)) == [SitState.CANCELLED]


def test_the_job_computes_a_draft_and_a_second_request_joins_the_waiting_run(stage):
    wish(stage, stage.cast.member, 1)
    client = stage.cast.client(stage.cast.coordinator)
    with time_machine.travel(NOW, tick=False):
        first = client.post(
            "/api/v1/rotation-plans/recompute/",
            {"property": str(stage.cast.north.id)},
            format="json",
        )
        again = client.post(
            "/api/v1/rotation-plans/recompute/",
            {"property": str(stage.cast.north.id)},
            format="json",
        )
    run = jobs.run_job(run_id=first.data["job"], now=NOW)

    assert (first.status_code, again.data) == (202, first.data)
    assert run is not None
    assert run.name == rotation_jobs.RECOMPUTE
    assert run.state == JobState.DONE, run.error
    assert RotationPlan.objects.get(id=run.result["plan"]).state == PlanState.DRAFT


def test_a_stand_with_a_soft_cap_is_used_beyond_it_and_named_to_whoever_plans(stage):
    stage.creek.retired_at = NOW
    stage.creek.save()
    stage.cast.cooperative.settings = {
        "house_rules": {"same_wind_cap": 1, "same_wind_excess": 1, "rest_days": 1}
    }
    stage.cast.cooperative.save()
    wish(stage, stage.cast.member, 3)
    plan = compute(stage)
    publish(stage, plan)
    url = f"/api/v1/rotation-plans/{plan.id}/"

    told = stage.cast.client(stage.cast.manager).get(url).data["result"]

    assert plan.seats.count() == 2
    (sentence,) = told["same_wind_excess"]
    assert sentence.startswith("Oak exceeds its soft cap of 1 uses in 10 days by 1 on east wind")
    member = stage.cast.client(stage.cast.member).get(url).data["result"]
    assert member["same_wind_excess"] == []


def test_whoever_is_checked_in_never_moves_however_far_ahead_the_sit_is_said_to_begin(stage):
    wish(stage, stage.cast.member, 1)
    publish(stage, compute(stage))
    Sit.objects.update(state=SitState.CHECKED_IN)
    SitRequest.objects.update(withdrawn_at=NOW)

    plan = compute(stage)
    placed = publish(stage, plan).placed

    assert plan.seats.get().locked
    assert (placed.moved, placed.withdrawn) == (0, 0)
    assert Sit.objects.get().state == SitState.CHECKED_IN


def test_a_stand_rests_after_a_sit_in_the_plans_days_that_is_over_already(stage):
    done = booked(stage, day=FIRST, span="evening", weapon="bow")
    Sit.objects.filter(id=done.id).update(state=SitState.REPORTED)
    wish(stage, stage.ben, 5, wanted_stands={str(stage.oak.id): 100})

    plan = compute(stage)

    (over,) = plan.seats.filter(locked=True)
    assert (over.person_id, over.local_date) == (stage.cast.member.id, FIRST)
    planned = set(plan.seats.filter(locked=False).values_list("local_date", "kind"))
    assert planned
    # Beside the first, in the other seat, is no further use.
    the_next = FIRST + timedelta(days=1)
    resting = {(FIRST, "morning"), (the_next, "morning"), (the_next, "evening")}
    assert planned.isdisjoint(resting)
    publish(stage, plan)
    assert Sit.objects.filter(person=stage.cast.member).count() == 1


def test_a_sit_in_the_plans_days_that_is_over_counts_as_a_sit_of_the_plan_and_once(stage):
    done = booked(stage, day=FIRST, span="evening", weapon="bow")
    wish(stage, stage.cast.member, 1)
    as_booked = gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW)
    begun, over_at = NOW - timedelta(hours=3), NOW
    Sit.objects.filter(id=done.id).update(state=SitState.REPORTED, starts_at=begun, ends_at=over_at)
    over = gather(lands=[stage.cast.north], first_on=FIRST, last_on=LAST, now=NOW)

    assert over.problem == as_booked.problem
    assert over.problem.members[0].received_quality == 0

"""Places of a plan are kept for those who sit at the same time, and given on when they go."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from coop.outbox.models import Fact, Message
from scheduling.sits.briefing import briefing_of
from scheduling.sits.harvest_models import HarvestPlace
from scheduling.sits.harvest_place_services import want_place
from scheduling.sits.harvest_plan_services import change_plan, create_plan, delete_plan
from scheduling.sits.harvest_services import change_harvest, record_harvest
from scheduling.sits.life_services import cancel_sit, check_in, check_out
from scheduling.sits.models import Harvest, HarvestPlan
from scheduling.sits.report_services import report_sit
from scheduling.sits.transfer_services import transfer_sit
from tests.cast import NOW, make_member
from tests.scheduling.sits.stage import DAY, booked, facts_handled, make_guest


def planned(stage, number, *, kind="antlerless", sex="", **more):
    return create_plan(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        fields={"season_year": 2025, "harvest_class": kind, "sex": sex, "planned": number, **more},
        now=NOW,
    )


def held(sit, plan=None):
    rows = HarvestPlace.objects.filter(sit=sit)
    return (rows.filter(plan=plan) if plan else rows).get().held


def taken(stage, person=None, kind="antlerless", **fields):
    return record_harvest(
        actor=stage.cast.actor(person or stage.cast.member),
        land=stage.cast.north,
        person=None,
        sit=None,
        fields={"harvest_class": kind, "taken_at": NOW, **fields},
        now=NOW,
    )


def test_the_one_place_left_is_kept_for_who_booked_first_and_the_other_sits_without(stage):
    planned(stage, 1)
    first, second = booked(stage), booked(stage, stage.ben)

    assert (held(first), held(second)) == (True, False)


def test_sits_of_different_days_each_have_the_place(stage):
    planned(stage, 1)
    first, later = booked(stage), booked(stage, stage.ben, day=DAY + timedelta(days=4))

    assert (held(first), held(later)) == (True, True)


def test_a_guest_asks_for_a_place_of_their_own(stage):
    planned(stage, 1)
    sit = booked(stage, guests=[make_guest(stage.cast.member)])
    places = HarvestPlace.objects.filter(sit__local_date=DAY)

    assert places.count() == 2
    assert places.get(held=True).sit == sit


def test_a_property_without_a_plan_or_whose_plan_keeps_none_has_no_places(stage):
    booked(stage)
    assert not HarvestPlace.objects.exists()
    planned(stage, 3, places_reserved=False)
    facts_handled()

    assert not HarvestPlace.objects.exists()


def test_a_place_given_back_by_a_cancelled_sit_goes_to_who_is_out_then_and_they_are_told(stage):
    planned(stage, 1)
    first, second = booked(stage), booked(stage, stage.ben)
    facts_handled()
    cancel_sit(actor=stage.cast.actor(stage.cast.member), sit=first, reason="", now=NOW)
    facts_handled()

    assert held(second)
    assert not HarvestPlace.objects.filter(sit=first).exists()
    letter = Message.objects.get(recipient=stage.ben.email)
    assert "a place for antlerless deer is kept" in letter.subject
    assert "Oak" in letter.text


def test_a_place_given_up_goes_to_the_other_and_only_its_own_hunter_or_a_manager_does_that(stage):
    planned(stage, 1)
    first, second = booked(stage), booked(stage, stage.ben)
    place = HarvestPlace.objects.get(sit=first)

    with pytest.raises(PermissionDenied):
        want_place(actor=stage.cast.actor(stage.ben), place=place, wanted=False, now=NOW)
    mia = stage.cast.actor(stage.cast.member)
    assert not want_place(actor=mia, place=place, wanted=False, now=NOW).held
    assert held(second)
    # Asked for again it is the first booker's before the second's.
    assert want_place(actor=mia, place=place, wanted=True, now=NOW).held
    assert not held(second)


def test_a_deer_recorded_leaves_the_rest_fewer_places_and_tells_who_lost_one(stage):
    planned(stage, 2)
    first, second = booked(stage), booked(stage, stage.ben)
    assert (held(first), held(second)) == (True, True)
    taken(stage)
    facts_handled()

    assert (held(first), held(second)) == (True, False)
    letter = Message.objects.get(recipient=stage.ben.email)
    assert "not theirs to take" in letter.text
    assert "state's regulations" in letter.text


def test_who_checked_out_keeps_the_place_until_the_report_since_the_deer_may_not_be_told(stage):
    planned(stage, 1)
    morning = booked(stage, span="morning")
    evening = booked(stage, stage.ben, stage.creek)
    assert (held(morning), held(evening)) == (True, True)
    mia, ben = stage.cast.actor(stage.cast.member), stage.cast.actor(stage.ben)
    check_in(actor=mia, sit=morning, now=morning.starts_at)
    left_at = morning.ends_at - timedelta(minutes=30)
    check_out(actor=mia, sit=morning, now=left_at)
    facts_handled(left_at)
    assert (held(morning), held(evening)) == (True, True)

    check_in(actor=ben, sit=evening, now=evening.starts_at)
    assert not held(evening)
    report_sit(actor=mia, sit=morning, fields={}, now=evening.starts_at + timedelta(hours=1))
    facts_handled(evening.starts_at + timedelta(hours=1))

    assert held(evening)
    assert not HarvestPlace.objects.filter(sit=morning).exists()


def test_who_goes_out_this_evening_takes_no_place_from_the_sits_of_other_days(stage):
    planned(stage, 1)
    out, coming = booked(stage), booked(stage, stage.ben, day=DAY + timedelta(days=4))
    check_in(actor=stage.cast.actor(stage.cast.member), sit=out, now=out.starts_at)
    facts_handled(out.starts_at)

    assert (held(out), held(coming)) == (True, True)
    assert not Message.objects.filter(recipient=stage.ben.email).exists()


def test_with_the_setting_at_nought_check_out_frees_the_place(stage):
    stage.cast.north.settings = {"harvest": {"place_kept_after_sit_h": 0}}
    stage.cast.north.save()
    planned(stage, 1)
    morning, evening = booked(stage, span="morning"), booked(stage, stage.ben, stage.creek)
    mia = stage.cast.actor(stage.cast.member)
    check_in(actor=mia, sit=morning, now=morning.starts_at)
    assert held(morning)
    check_out(actor=mia, sit=morning, now=morning.ends_at)
    facts_handled(morning.ends_at)

    assert not HarvestPlace.objects.filter(sit=morning).exists()
    assert held(evening)


def test_who_is_still_out_in_the_evening_keeps_the_place_from_the_evening_sit(stage):
    planned(stage, 1)
    morning, evening = booked(stage, span="morning"), booked(stage, stage.ben, stage.creek)
    check_in(actor=stage.cast.actor(stage.cast.member), sit=morning, now=morning.starts_at)
    check_in(actor=stage.cast.actor(stage.ben), sit=evening, now=evening.starts_at)

    assert (held(morning), held(evening)) == (True, False)


def test_a_sit_handed_over_keeps_its_place(stage):
    planned(stage, 1)
    sit = booked(stage)
    cleo = make_member(stage.cast.cooperative, "Cleo Third", stage.cast.north)
    transfer_sit(
        actor=stage.cast.actor(stage.cast.manager), sit=sit, receiver=cleo, reason="ill", now=NOW
    )
    facts_handled()

    assert held(sit)


def test_the_briefing_says_which_class_is_not_ones_own_and_never_that_a_shot_is_legal(stage):
    planned(stage, 1)
    planned(stage, 4, kind="antlered")
    booked(stage)
    second = booked(stage, stage.ben)

    told = briefing_of(second, actor=stage.cast.actor(stage.ben))
    rows = {row["harvest_class"]: row for row in told["harvest_places"]}
    assert rows["antlerless"]["is_yours"] is False
    assert "not yours to take" in rows["antlerless"]["sentence"]
    assert rows["antlered"]["is_yours"] is True
    words = told["harvest_notice"] + " ".join(row["sentence"] for row in rows.values())
    assert "no permission" in words
    assert "legal" not in words
    assert "may shoot" not in words


def test_who_sits_without_a_place_and_takes_one_all_the_same_is_recorded(stage):
    planned(stage, 1)
    booked(stage)
    second = booked(stage, stage.ben)
    ben = stage.cast.actor(stage.ben)
    check_in(actor=ben, sit=second, now=second.starts_at)
    check_out(actor=ben, sit=second, now=second.ends_at)
    taken(stage)
    report_sit(
        actor=ben,
        sit=second,
        fields={"shots": 1},
        harvests=[{"harvest_class": "antlerless"}],
        now=second.ends_at,
    )

    assert Harvest.objects.count() == 2
    assert Fact.objects.filter(topic="harvest.over_plan").count() == 1


def test_a_filled_class_is_told_at_once_to_who_is_on_the_land_and_to_the_managers(stage):
    plan = planned(stage, 1)
    facts_handled()
    out, coming = booked(stage), booked(stage, stage.ben, day=DAY + timedelta(days=4))
    check_in(actor=stage.cast.actor(stage.cast.member), sit=out, now=out.starts_at)
    facts_handled(out.starts_at)
    Message.objects.all().delete()
    record_harvest(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        person=stage.cast.manager,
        sit=None,
        fields={"harvest_class": "antlerless", "taken_at": out.starts_at},
        now=out.starts_at,
    )
    facts_handled(out.starts_at)

    plan.refresh_from_db()
    assert plan.filled_at == out.starts_at
    filled = Message.objects.filter(subject__contains="the plan for antlerless deer is filled")
    told = {letter.recipient: letter.urgent for letter in filled}
    assert told == {stage.cast.member.email: True, stage.cast.manager.email: True}
    # Who sits later hears that no place is kept; who is out heard it once.
    (later,) = Message.objects.exclude(id__in=filled)
    assert (later.recipient, later.urgent) == (coming.person.email, False)
    assert not HarvestPlace.objects.filter(held=True).exists()


def test_the_second_deer_over_the_plan_does_not_fill_it_again(stage):
    planned(stage, 1)
    taken(stage)
    taken(stage)

    assert Fact.objects.filter(topic="harvest.class_filled").count() == 1


def test_a_correction_opens_the_class_again_and_the_places_come_back(stage):
    plan = planned(stage, 1)
    sit = booked(stage)
    deer = taken(stage)
    facts_handled()
    assert not held(sit)
    change_harvest(
        actor=stage.cast.actor(stage.cast.member),
        harvest=Harvest.objects.get(id=deer.id),
        changes={"harvest_class": "antlered"},
        now=NOW,
    )
    facts_handled()

    plan.refresh_from_db()
    assert plan.filled_at is None
    assert held(sit)


def test_a_deer_of_unknown_sex_counts_against_the_plan_for_does_until_somebody_says(stage):
    plan = planned(stage, 1, sex="doe")
    sit = booked(stage)
    deer = taken(stage)
    facts_handled()
    assert not held(sit, plan)
    change_harvest(
        actor=stage.cast.actor(stage.cast.member),
        harvest=Harvest.objects.get(id=deer.id),
        changes={"sex": "buck"},
        now=NOW,
    )
    facts_handled()

    assert held(sit, plan)


def test_another_number_planned_moves_the_places(stage):
    plan = planned(stage, 1)
    first, second = booked(stage), booked(stage, stage.ben)
    manager = stage.cast.actor(stage.cast.manager)
    change_plan(actor=manager, plan=plan, changes={"planned": 2}, now=NOW)
    facts_handled()
    assert (held(first), held(second)) == (True, True)
    change_plan(actor=manager, plan=plan, changes={"planned": 0}, now=NOW)
    facts_handled()
    assert (held(first), held(second)) == (False, False)
    delete_plan(actor=manager, plan=HarvestPlan.objects.get(id=plan.id), now=NOW)

    assert not HarvestPlace.objects.exists()

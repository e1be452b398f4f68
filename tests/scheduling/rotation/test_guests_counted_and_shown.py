"""Caps of guests over stored sits and plans, and who reads which guest's name."""

from datetime import date, timedelta

import pytest
import time_machine

from properties.people.models import Person
from scheduling.rotation.models import RotationPlan
from scheduling.sits.models import Sit
from tests.cast import NOW
from tests.scheduling.rotation.test_plans_that_are_published import LAST, compute, publish
from tests.scheduling.rotation.test_plans_with_guests import gathered, wish_with
from tests.scheduling.sits.stage import booked, make_guest, make_stage


@pytest.fixture
def stage(cast):
    return make_stage(cast)


@pytest.fixture
def gus(stage) -> Person:
    return make_guest(stage.cast.member)


def with_caps(stage, **caps) -> None:
    stage.cast.north.settings = {"house_rules": caps}
    stage.cast.north.save()


def test_the_hosts_cap_counts_what_was_booked_and_is_named_to_the_member(stage, gus):
    with_caps(stage, guest_sits_a_host=3)
    stage.creek.capacity = 2
    stage.creek.save()
    booked(stage, guests=[gus], day=LAST + timedelta(days=3))
    booked(stage, guests=[gus], day=LAST)
    wish_with(stage, gus, sits=4)

    found = gathered(stage)
    plan = compute(stage)

    (north,) = found.problem.properties
    assert north.guest_sits_held == ((2025, str(stage.cast.member.id), 1),)
    # One beyond the plan's days, one booked within them: one more is left.
    assert plan.seats.filter(locked=False).count() == 1
    (unmet,) = plan.explanations
    named = [one for one in unmet["obstacles"] if one["code"] == "guests_of_host"]
    assert named
    assert named[0]["guests"] == [str(gus.id)]
    assert "brought guests to 3 sits" in named[0]["sentence"]


def test_planned_sits_of_guests_are_not_counted_twice_once_they_stand(stage, gus):
    with_caps(stage, guest_sits_a_property=2)
    wish_with(stage, gus, sits=2)
    publish(stage, compute(stage))
    placed = publish(stage, compute(stage)).placed
    assert (placed.kept, placed.withdrawn) == (2, 0)
    assert gathered(stage).problem.properties[0].guest_sits_held == ()


def test_a_past_years_guests_take_nothing_from_the_cap(stage, gus):
    with_caps(stage, guest_sits_a_host=1)
    sit = booked(stage, guests=[gus], day=LAST + timedelta(days=3))
    Sit.objects.filter(local_date=sit.local_date).update(local_date=date(2025, 6, 30))
    wish_with(stage, gus)
    assert compute(stage).seats.count() == 1


def over_http(stage, person: Person, plan: RotationPlan, path: str):
    with time_machine.travel(NOW, tick=False):
        return stage.cast.client(person).get(f"/api/v1/rotation-plans/{plan.id}/{path}/").data


def test_the_preview_names_who_would_come_along(stage, gus):
    wish_with(stage, gus)
    (row,) = over_http(stage, stage.cast.manager, compute(stage), "preview")
    assert [seat["guests"] for seat in row["added"]] == [[str(gus.id)]]


@pytest.mark.parametrize(
    ("reader", "name"), [("member", "Gus Guest"), ("manager", "Gus Guest"), ("ben", "Gus")]
)
def test_a_planned_guest_is_named_as_far_as_the_reader_may_know(stage, gus, reader, name):
    wish_with(stage, gus)
    plan = compute(stage)
    publish(stage, plan)
    person = stage.ben if reader == "ben" else getattr(stage.cast, reader)
    (row,) = over_http(stage, person, plan, "seats")
    assert [guest["name"] for guest in row["guests"]] == [name]

"""Danger arcs in a plan: what booking refuses to a seat without a weapon, the plan forbids."""

from itertools import combinations

import pytest

from coop.api.problems import Refused
from properties.sessions.models import Season
from scheduling.rotation.gather import gather
from scheduling.sits.booking_services import book_sit
from scheduling.sits.models import Sit
from tests.cast import NOW, make_member, make_stand
from tests.scheduling.sits.stage import DAY, codes_of, give_fits, make_stage

METRE_LATITUDE = 1 / 111_000
"""A degree of latitude is about 111 km; the stands lie in a line to the north."""


@pytest.fixture
def line(cast):
    """Oak, and stands 300 m, 800 m and 2 000 m north of it; bows, shotguns and rifles allowed."""
    stage = make_stage(cast)
    Season.objects.filter(property=cast.north).update(weapons=["bow", "shotgun", "rifle"])
    cast.north.settings = {"house_rules": {"danger_distance_rifle_m": 1_500}}
    cast.north.save()
    stage.creek.retired_at = NOW
    stage.creek.save()
    stage.oak.capacity = 1
    stage.oak.save()
    north = [
        make_stand(cast.north, name, latitude=cast.north.latitude + metres * METRE_LATITUDE)
        for name, metres in (("Near", 300), ("Middle", 800), ("Distant", 2_000))
    ]
    for stand in north:
        give_fits(stand)
    return stage, [stage.oak, *north]


def attempt(stage, person, stand, weapon):
    try:
        return book_sit(
            actor=stage.cast.actor(person),
            stand=stand,
            local_date=DAY,
            span="evening",
            weapon=weapon,
            now=NOW,
        )
    except Refused as refusal:
        return codes_of(refusal)


def kept_apart(stage):
    problem = gather(lands=[stage.cast.north], first_on=DAY, last_on=DAY, now=NOW).problem
    names = {stand.id: stand.name for stand in problem.stands}
    return {
        (frozenset(names[stand_id] for stand_id in pair.stand_ids), session.kind.value)
        for pair in problem.exclusions
        for session in pair.sessions or problem.sessions
    }


@pytest.mark.parametrize("weapon", ["bow", "shotgun", "rifle", ""])
def test_beside_a_full_stand_the_plan_keeps_apart_what_booking_refuses(line, weapon):
    stage, stands = line
    first = attempt(stage, stage.cast.member, stands[0], weapon)
    assert isinstance(first, Sit)
    forbidden = {
        next(iter(pair - {"Oak"}))
        for pair, kind in kept_apart(stage)
        if "Oak" in pair and kind == "evening"
    }

    refused = set()
    for stand in stands[1:]:
        answer = attempt(stage, stage.ben, stand, "")
        if isinstance(answer, Sit):
            answer.claims.all().delete()
            answer.delete()
        else:
            assert answer == ["neighbour_in_use"]
            refused.add(stand.name)

    # Arcs are full circles here: whoever plans or books without a weapon may bring the rifle.
    assert refused == forbidden == {"Near", "Middle"}


def test_two_declared_bows_that_do_not_reach_are_no_conflict_of_bookings(line):
    stage, (oak, near, middle, distant) = line

    booked = [
        attempt(stage, stage.cast.member, oak, "bow"),
        attempt(stage, stage.ben, middle, "bow"),
    ]

    assert all(isinstance(sit, Sit) for sit in booked)
    evenings = {pair for pair, kind in kept_apart(stage) if kind == "evening"}
    mornings = {pair for pair, kind in kept_apart(stage) if kind == "morning"}
    assert frozenset({"Oak", "Middle"}) not in evenings
    assert frozenset({"Oak", "Middle"}) in mornings
    third = make_member(stage.cast.cooperative, "Cal Third", stage.cast.north)
    assert attempt(stage, third, near, "bow") == ["neighbour_in_use"]
    assert isinstance(attempt(stage, third, distant, "bow"), Sit)


def test_nearer_pairs_are_kept_apart_whenever_the_season_allows_what_reaches(line):
    stage, _stands = line
    distance_m = {"Oak": 0, "Near": 300, "Middle": 800, "Distant": 2_000}
    expected = {
        frozenset({one, other})
        for one, other in combinations(distance_m, 2)
        if abs(distance_m[one] - distance_m[other]) < 1_500
    }

    assert {pair for pair, _kind in kept_apart(stage)} == expected

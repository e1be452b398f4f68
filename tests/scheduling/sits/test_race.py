"""Many book at once: two seats are sold twice, and never a third time.

On PostgreSQL the threads meet in the test database itself; on SQLite in a copy of it in a
file, since threads that share a database in memory meet locks which no deployment has.
"""

import sqlite3
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import pairwise
from threading import Barrier

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection, connections

from coop.access.actors import system_actor
from coop.api.problems import Problem
from scheduling.sits.booking_services import book_sit
from scheduling.sits.harvest_models import HarvestPlace
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.models import HarvestPlan, SeatClaim, Sit
from scheduling.sits.transfer_services import accept_sit, offer_sit
from scheduling.sits.waiting_services import wait_for_seat
from scheduling.sits.waiting_work import work_waiting_list
from tests.cast import NOW, make_cast, make_member, make_stand
from tests.scheduling.sits.stage import DAY, Stage, booked, give_fits, make_stage

BOOKERS = 20


@pytest.fixture
def crowded(transactional_db, tmp_path) -> Iterator[tuple[Stage, list]]:
    """The stage with twenty more members, in a database that threads can share."""
    stage = make_stage(make_cast())
    members = [
        make_member(stage.cast.cooperative, f"Member {number:02d}", stage.cast.north)
        for number in range(BOOKERS)
    ]
    if connection.vendor != "sqlite":
        yield stage, members
        return
    with sqlite3.connect(tmp_path / "crowded.sqlite3") as copy:
        connection.connection.backup(copy)
    copy.close()
    shared = connections.settings["default"]
    in_memory = shared["NAME"]
    shared["NAME"] = str(tmp_path / "crowded.sqlite3")
    yield stage, members
    shared["NAME"] = in_memory


def at_once(calls):
    """Outcomes of calls that all begin together, each in a thread with its own connection."""
    gate = Barrier(len(calls))

    def run(call):
        gate.wait()
        try:
            return call()
        except Problem as problem:
            listed = problem.members.get("refusals", [])
            return listed[0]["code"] if listed else problem.code
        finally:
            connections["default"].close()

    with ThreadPoolExecutor(max_workers=len(calls)) as pool:
        return list(pool.map(run, calls))


def counted(count):
    """Look from a thread, where the shared database is."""
    return at_once([count])[0]


def booking(actor, stand, day, span="evening"):
    def book():
        return book_sit(actor=actor, stand=stand, local_date=day, span=span, now=NOW).state

    return book


def test_twenty_who_want_two_seats_at_once_leave_two_sits_and_eighteen_refusals(crowded):
    stage, members = crowded
    actors = [stage.cast.actor(member) for member in members]

    outcomes = Counter(at_once([booking(actor, stage.oak, DAY) for actor in actors]))

    assert outcomes["booked"] == 2
    assert outcomes["stand_full"] + outcomes["seat_taken"] == BOOKERS - 2
    assert counted(Sit.objects.count) == counted(SeatClaim.objects.count) == 2


def test_bookings_of_neighbouring_days_at_once_never_break_the_rest(crowded):
    stage, members = crowded
    days = [DAY + timedelta(days=offset) for offset in range(6)]
    calls = [
        booking(stage.cast.actor(member), stage.creek, day)
        for member, day in zip(members, days, strict=False)
    ]

    outcomes = Counter(at_once(calls))

    used = counted(lambda: sorted(Sit.objects.values_list("local_date", flat=True)))
    assert outcomes["booked"] == len(used) >= 1
    assert set(outcomes) <= {"booked", "stand_resting"}
    # Three days of rest by the settings.
    assert all(later - earlier >= timedelta(days=3) for earlier, later in pairwise(used))


def test_one_member_at_two_properties_at_once_has_one_seat(crowded):
    stage, _members = crowded
    actor = stage.cast.actor(stage.cast.member)

    outcomes = Counter(at_once([booking(actor, stand, DAY) for stand in (stage.oak, stage.creek)]))

    assert outcomes == {"booked": 1, "one_stand_a_session": 1}
    assert counted(Sit.objects.count) == 1


def test_two_who_cancel_at_once_while_two_workers_work_the_list_serve_the_first_two(crowded):
    stage, members = crowded
    holders, waiting = members[:2], members[2:7]

    def prepared():
        for after, person in enumerate(waiting):
            wait_for_seat(
                actor=stage.cast.actor(person),
                land=stage.cast.north,
                stand=stage.oak,
                local_date=DAY,
                span="evening",
                now=NOW + timedelta(seconds=after),
            )

    sits = counted(lambda: [booked(stage, holder, stand=stage.oak) for holder in holders])
    counted(prepared)

    def cancelling(sit):
        actor = stage.cast.actor(sit.person)
        return lambda: cancel_sit(actor=actor, sit=sit, reason="", now=NOW).state

    def working():
        return work_waiting_list(
            property_id=stage.cast.north.id, actor=system_actor("test"), now=NOW
        ).booked

    outcomes = at_once([*map(cancelling, sits), working, working])
    given = sum(outcome for outcome in outcomes if isinstance(outcome, int))
    given += counted(working)

    assert given == 2
    assert counted(lambda: SeatClaim.objects.count()) == 2
    served = counted(
        lambda: set(Sit.objects.filter(state="booked").values_list("person_id", flat=True))
    )
    assert served == {person.id for person in waiting[:2]}


def test_of_a_cancel_and_an_acceptance_at_once_one_has_its_way_and_nothing_is_left_between(crowded):
    stage, members = crowded
    giver, receiver = members[:2]
    sit = counted(lambda: booked(stage, giver, stand=stage.oak))
    transfer = counted(
        lambda: offer_sit(
            actor=stage.cast.actor(giver), sit=sit, receiver=receiver, message="", now=NOW
        )
    )
    actors = stage.cast.actor(giver), stage.cast.actor(receiver)

    def cancelling():
        try:
            return cancel_sit(actor=actors[0], sit=sit, reason="", now=NOW).state
        except PermissionDenied:
            return "not theirs any more"

    def accepting():
        return accept_sit(actor=actors[1], transfer=transfer, now=NOW).state

    outcomes = at_once([cancelling, accepting])
    sit = counted(lambda: Sit.objects.get(id=sit.id))
    claimed = counted(lambda: list(SeatClaim.objects.values_list("person_id", flat=True)))

    if outcomes == ["cancelled", "wrong_order"]:
        assert (sit.state, claimed) == ("cancelled", [])
    else:
        assert outcomes == ["not theirs any more", "accepted"]
        assert (sit.state, sit.person_id, claimed) == ("booked", receiver.id, [receiver.id])


def test_of_those_who_book_one_evening_at_once_no_more_hold_a_place_than_the_plan_has_left(crowded):
    stage, members = crowded
    roomy = counted(lambda: make_roomy(stage))
    counted(lambda: plan_antlerless(stage, 3))
    calls = [
        booking(stage.cast.actor(member), roomy[number % 2], DAY)
        for number, member in enumerate(members)
    ]

    outcomes = Counter(at_once(calls))

    assert outcomes == {"booked": BOOKERS}
    asked = counted(lambda: list(HarvestPlace.objects.values_list("held", flat=True)))
    assert (len(asked), sum(asked)) == (BOOKERS, 3)


def make_roomy(stage):
    """Two stands with seats for everybody, so that places alone are scarce."""
    land = stage.cast.north
    stands = [
        make_stand(
            land,
            f"Roomy {side}",
            capacity=BOOKERS // 2,
            latitude=land.latitude - 0.006,
            longitude=land.longitude + side * 0.008,
        )
        for side in (0, 1)
    ]
    for stand in stands:
        give_fits(stand)
    return stands


def plan_antlerless(stage, planned):
    return HarvestPlan.objects.create(
        property=stage.cast.north, season_year=2025, harvest_class="antlerless", planned=planned
    )

"""On one snapshot, booking refuses exactly what the plan's rows forbid."""

from collections import Counter
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rules import catalogue
from scheduling.rules.judge import refusals
from scheduling.rules.rows import SeatRows
from scheduling.rules.rule import AppliesTo
from tests.scheduling.rules.cast import limits, proposal
from tests.scheduling.rules.worlds import MEMBERS, SEATS, SESSIONS, STANDS, Seat, World, worlds

COUNTING = {
    objection.code
    for rule in catalogue.RULES
    if rule.applies_to is AppliesTo.BOTH and not rule.is_filter
    for objection in rule.objections
}


def holds(block, plan: list[Seat]) -> bool:
    """Whether a plan keeps to a block of rows, by the definition of rows and nothing else."""
    seated = np.zeros(len(SEATS), dtype=np.int64)
    used = np.zeros((len(STANDS), len(SESSIONS)), dtype=np.int64)
    for seat in plan:
        seated[SEATS.index(seat)] = 1
        used[seat.stand, seat.session] = 1
    limit = block.limit
    if isinstance(block, SeatRows):
        taken = seated[block.seat]
        if block.use_stand is not None:
            limit = limit * used[block.use_stand, block.use_session]
    else:
        taken = used[block.stand, block.session]
    total = np.zeros(len(limit), dtype=np.int64)
    np.add.at(total, block.row, block.weight * taken)
    return bool((total <= limit).all())


def compare(world: World, order: list[Seat]) -> Counter[tuple[str, bool]]:
    """Grow a plan seat by seat; booking and rows must say the same of each."""
    plan: list[Seat] = []
    answers: Counter[tuple[str, bool]] = Counter()
    rows = world.rows()
    for seat in order:
        asked = proposal(
            member_id=MEMBERS[seat.member],
            stand_id=STANDS[seat.stand],
            sessions=(SESSIONS[seat.session],),
            guest_ids=seat.guests,
        )
        found = refusals(asked, facts=world.facts(plan), limits=world.limits)
        refused = {refusal.code for refusal in found}
        forbidden = {block.code for block in rows if not holds(block, [*plan, seat])}
        assert refused == forbidden, (asked, plan)
        answers.update((block.code, block.code in refused) for block in rows)
        if not refused:
            plan.append(seat)
    return answers


@settings(max_examples=60, deadline=None)
@given(worlds(), st.permutations(SEATS))
def test_booking_refuses_what_the_rows_forbid_and_nothing_else(world, order):
    compare(world, order)


@settings(max_examples=10, deadline=None)
@given(worlds())
def test_every_rule_that_counts_for_both_gives_the_plan_rows(world):
    assert {block.code for block in world.rows()} == COUNTING


def test_each_rule_both_allows_and_refuses_so_that_agreement_means_something():
    steady = np.tile(np.array([900, 100, 0]), (len(STANDS), len(SESSIONS), 1))
    roomy = {
        "book_ahead_days": 60,
        "rest_days": 0,
        "same_wind_cap": 100,
        "weekly_sits": 14,
        "sits_a_day": 2,
    }
    answers: Counter[tuple[str, bool]] = Counter()
    for tight in (
        {"rest_days": 2},
        {"same_wind_cap": 1},
        {"uses_a_week": 2},
        {"weekly_sits": 2},
        {"sits_a_day": 1},
        {"hunters_a_session": 1},
        {"guest_sits_a_host": 2},
        {"guest_sits_a_property": 3},
        {},
    ):
        world = World(
            past=(),
            forecast=steady,
            excluded=frozenset({0}),
            seats=1,
            limits=limits(**{**roomy, **tight}),
        )
        answers += compare(world, SEATS)
        # The other way round whoever brings somebody comes first, where there is room for two.
        answers += compare(replace(world, seats=2), SEATS[::-1])
    codes = {block.code for block in world.rows()}
    assert {(code, answer) for code in codes for answer in (True, False)} == set(answers)

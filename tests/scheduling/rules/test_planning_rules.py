"""Each planning rule's two forms, and that they agree: judge of one use, rows of a plan."""

from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rules import capacity, exclusion, member_limits, property_cap, rest, same_wind
from scheduling.rules.rows import UseRows
from scheduling.rules.uses import Use

FIRST = date(2025, 11, 3)
NORTH = (1000, 0, 0, 0, 0, 0, 0, 0)


def session(day: int, kind: SessionKind = SessionKind.EVENING) -> SessionKey:
    return SessionKey(FIRST + timedelta(days=day), kind)


def use(day: int, kind: SessionKind = SessionKind.EVENING, **more) -> Use:
    given_values = {"stand_id": "S", "session": session(day, kind), "sector_per_mille": NORTH}
    return Use(**{**given_values, **more})


def breaks(rows: UseRows, used: set[tuple[int, int]]) -> bool:
    taken = [(s, t) in used for s, t in zip(rows.stand, rows.session, strict=True)]
    load = np.bincount(rows.row, weights=rows.weight * taken, minlength=len(rows.limit))
    return bool((load > rows.limit).any())


@pytest.mark.parametrize(("apart", "refused"), [(0, True), (1, True), (2, True), (3, False)])
def test_a_stand_of_three_days_rest_is_free_on_the_third_day_after(
    apart: int, refused: bool
) -> None:
    found = rest.refusal(
        stand_id="S",
        session=session(apart),
        uses=[use(0, SessionKind.MORNING)],
        rest_days=3,
    )
    assert (found is not None) == refused


def test_rest_reaches_back_from_a_use_already_booked() -> None:
    found = rest.refusal(stand_id="S", session=session(1), uses=[use(3)], rest_days=3)
    assert found is not None
    assert "booked for the evening of Thu 6 Nov" in found.sentence
    assert found.facts["other_use_date"] == "2025-11-06"


def test_the_refusal_says_when_the_stand_is_free_again() -> None:
    found = rest.refusal(stand_id="S", session=session(1), uses=[use(0)], rest_days=3)
    assert found is not None
    assert "free again from Thu 6 Nov" in found.sentence
    assert found.overrulable


def test_joining_a_use_disturbs_nothing_more() -> None:
    there = [use(0), use(0, SessionKind.MORNING)]
    assert rest.refusal(stand_id="S", session=session(0), uses=there, rest_days=5) is None
    assert (
        same_wind.refusal(
            stand_id="S",
            session=session(0),
            sector_per_mille=NORTH,
            uses=there,
            cap=1,
            window_days=9,
        )
        is None
    )


def test_rest_grows_after_a_disturbing_use_and_shrinks_after_a_clean_one() -> None:
    for own_rest, day, refused in ((5, 4, True), (5, 5, False), (1, 1, False)):
        found = rest.refusal(
            stand_id="S", session=session(day), uses=[use(0, rest_days=own_rest)], rest_days=3
        )
        assert (found is not None) == refused


def test_the_evening_of_an_all_day_sit_is_no_second_use() -> None:
    all_day = [use(0, SessionKind.MORNING), use(0, continues_morning=True)]
    found = same_wind.refusal(
        stand_id="S", session=session(1), sector_per_mille=NORTH, uses=all_day, cap=2, window_days=9
    )
    assert found is None


def test_same_wind_counts_expected_uses_exactly() -> None:
    uses = [use(0), use(1, sector_per_mille=(400, 600, 0, 0, 0, 0, 0, 0))]
    for chance, refused in ((600, False), (601, True)):
        found = same_wind.refusal(
            stand_id="S",
            session=session(2),
            sector_per_mille=(chance, 0, 1000 - chance, 0, 0, 0, 0, 0),
            uses=uses,
            cap=2,
            window_days=10,
        )
        assert (found is not None) == refused
    assert found is not None
    assert "north wind 1.4 are counted" in found.sentence
    assert found.facts["counted_per_mille"] == 1400


def test_same_wind_forgets_what_lies_outside_every_window() -> None:
    uses = [use(0), use(12)]
    found = same_wind.refusal(
        stand_id="S", session=session(6), sector_per_mille=NORTH, uses=uses, cap=2, window_days=7
    )
    assert found is None


def test_places_count_guests() -> None:
    there = [use(0, hunters=2)]
    kwargs = {"stand_id": "S", "session": session(0), "uses": there}
    assert capacity.refusal(**kwargs, capacity=3) is None
    assert capacity.refusal(**kwargs, capacity=3, hunters=2) is not None
    assert capacity.refusal(**{**kwargs, "session": session(1)}, capacity=2, hunters=2) is None
    kwargs = {"session": session(0), "uses_on_property": there}
    assert property_cap.refusal(**kwargs, cap=None) is None
    assert property_cap.refusal(**kwargs, cap=3) is None
    assert property_cap.refusal(**kwargs, cap=2) is not None


def test_a_neighbour_in_use_is_named_and_never_overruled() -> None:
    kwargs = {"uses": [use(0, stand_id="T")], "excluded": {"T": "Oak tower"}}
    found = exclusion.refusal(session=session(0), **kwargs)
    assert found is not None
    assert "Oak tower" in found.sentence
    assert not found.overrulable
    assert exclusion.refusal(session=session(1), **kwargs) is None


def test_a_members_limits() -> None:
    own = [use(0, SessionKind.MORNING), use(0, continues_morning=True)]
    evening = session(0)
    assert member_limits.session_refusal(session=evening, own_uses=own) is not None
    assert member_limits.session_refusal(session=session(1), own_uses=own) is None
    assert member_limits.day_refusal(session=evening, own_uses=own, sits_per_day=1) is not None
    assert member_limits.day_refusal(session=evening, own_uses=own, sits_per_day=2) is None
    assert member_limits.total_refusal(own_uses=own, sits_requested=1) is not None
    assert member_limits.total_refusal(own_uses=own, sits_requested=2) is None


SESSIONS = tuple(session(day, kind) for day in range(4) for kind in SessionKind)


@st.composite
def chances(draw: st.DrawFn) -> tuple[int, ...]:
    first = draw(st.sampled_from([0, 1, 333, 500, 999, 1000]))
    return (first, 1000 - first, 0, 0, 0, 0, 0, 0)


past_uses = st.lists(
    st.builds(
        use,
        st.sampled_from([-4, -3, -2, -1, 5, 6]),
        rest_days=st.sampled_from([None, 0, 1, 4]),
        sector_per_mille=chances(),
    ),
    max_size=3,
    unique_by=lambda past: past.session,
)
chosen = st.sets(st.integers(0, len(SESSIONS) - 1), max_size=4)


@settings(max_examples=150, deadline=None)
@given(uses=past_uses, used=chosen, rest_days=st.integers(0, 5))
def test_rest_rows_forbid_exactly_what_the_judge_refuses(
    uses: list[Use], used: set[int], rest_days: int
) -> None:
    rows = rest.rows(
        stand_ids=["S"],
        sessions=SESSIONS,
        offered=np.ones((1, len(SESSIONS)), dtype=bool),
        rest_days=np.array([rest_days]),
        uses=uses,
    )
    planned = {
        number: Use(stand_id="S", session=SESSIONS[number], sector_per_mille=NORTH)
        for number in used
    }
    refused = any(
        rest.refusal(
            stand_id="S",
            session=SESSIONS[number],
            uses=[*uses, *(other for n, other in planned.items() if n != number)],
            rest_days=rest_days,
        )
        for number in used
    )
    assert breaks(rows, {(0, number) for number in used}) == refused


@settings(max_examples=150, deadline=None)
@given(
    uses=past_uses,
    used=chosen,
    winds=st.lists(chances(), min_size=len(SESSIONS), max_size=len(SESSIONS)),
    cap=st.integers(1, 3),
    window_days=st.integers(1, 8),
)
def test_same_wind_rows_forbid_exactly_what_the_judge_refuses(
    uses: list[Use],
    used: set[int],
    winds: list[tuple[int, ...]],
    cap: int,
    window_days: int,
) -> None:
    rows = same_wind.rows(
        stand_ids=["S"],
        sessions=SESSIONS,
        offered=np.ones((1, len(SESSIONS)), dtype=bool),
        sector_per_mille=np.array([winds]),
        uses=uses,
        cap=cap,
        window_days=window_days,
    )
    planned = {
        number: Use(stand_id="S", session=SESSIONS[number], sector_per_mille=winds[number])
        for number in used
    }
    refused = any(
        same_wind.refusal(
            stand_id="S",
            session=SESSIONS[number],
            sector_per_mille=winds[number],
            uses=[*uses, *(other for n, other in planned.items() if n != number)],
            cap=cap,
            window_days=window_days,
        )
        for number in used
    )
    assert breaks(rows, {(0, number) for number in used}) == refused


@settings(max_examples=100, deadline=None)
@given(
    pairs=st.sets(
        st.tuples(st.integers(0, 5), st.integers(0, 5)).filter(lambda pair: pair[0] < pair[1])
    ),
    used=st.sets(st.integers(0, 5)),
)
def test_cliques_forbid_exactly_the_excluded_pairs(
    pairs: set[tuple[int, int]], used: set[int]
) -> None:
    rows = exclusion.rows(
        pair_stand=np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2),
        pair_session=np.zeros(len(pairs), dtype=np.int64),
        offered=np.ones((6, 1), dtype=bool),
    )
    together = any(pair in pairs for pair in product(sorted(used), repeat=2))
    assert breaks(rows, {(stand, 0) for stand in used}) == together


def test_three_stands_that_all_exclude_each_other_make_one_row() -> None:
    cliques = list(exclusion.maximal_cliques(np.array([[0, 1], [1, 2], [0, 2], [2, 3]])))
    assert sorted(cliques) == [(0, 1, 2), (2, 3)]


def test_rest_rows_are_windows_not_pairs() -> None:
    rows = rest.rows(
        stand_ids=["S"],
        sessions=tuple(session(day) for day in range(7)),
        offered=np.ones((1, 7), dtype=bool),
        rest_days=np.array([3]),
        uses=[],
    )
    assert len(rows.limit) == 5
    assert np.bincount(rows.row).tolist() == [3, 3, 3, 3, 3]

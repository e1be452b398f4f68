"""Camera-nights: the union of working time, half-open, known only as far as pictures were read."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapes.visits.effort import (
    Deployment,
    Outage,
    camera_nights_within,
    clipped,
    known_up_to,
    seconds_within,
    union,
    without,
    working_time,
)

DAY = 86_400
NOW = 100 * DAY


def deployed(camera, start, end, known=NOW):
    return Deployment(
        camera=camera,
        start_s=start * DAY,
        end_s=None if end is None else end * DAY,
        known_up_to_s=None if known is None else (known if known == NOW else known * DAY),
    )


def outage(camera, start, end):
    return Outage(camera=camera, start_s=start * DAY, end_s=None if end is None else end * DAY)


def nights(deployments, outages=(), now=NOW):
    return working_time(deployments=deployments, outages=outages, now_s=now).camera_nights


def test_two_cameras_at_once_count_once():
    assert nights([deployed("a", 0, 10), deployed("b", 5, 15)]) == 15


def test_a_camera_that_follows_another_at_the_same_instant_leaves_no_gap():
    watched = working_time(
        deployments=[deployed("a", 0, 10), deployed("b", 10, 20)], outages=[], now_s=NOW
    )
    assert watched.start_s.tolist() == [0]
    assert watched.camera_nights == 20


def test_an_outage_of_one_camera_takes_nothing_while_another_works():
    both = [deployed("a", 0, 10), deployed("b", 0, 10)]
    assert nights(both, [outage("a", 2, None)]) == 10
    assert nights(both, [outage("a", 2, None), outage("b", 6, 8)]) == 8


def test_an_outage_is_not_an_absence_of_deer():
    assert nights([deployed("a", 0, 10)], [outage("a", 3, 5), outage("a", 4, 6)]) == 7


def test_a_running_camera_counts_until_now():
    assert nights([deployed("a", 90, None)]) == 10


def test_a_card_camera_counts_until_its_card_was_pulled():
    assert nights([deployed("a", 90, None, known=96)]) == 6
    assert nights([deployed("a", 90, None, known=None)]) == 0
    assert nights([deployed("a", 90, None, known=80)]) == 0


def test_known_up_to_is_the_latest_any_camera_can_say():
    cameras = [deployed("a", 0, None, known=60), deployed("b", 0, 50), deployed("c", 0, None, None)]
    assert known_up_to(cameras, now_s=NOW) == 60 * DAY
    assert known_up_to([deployed("c", 0, None, None)], now_s=NOW) is None


def test_windows_are_half_open_and_add_up():
    spans = union([0, 20 * DAY], [10 * DAY, 30 * DAY])
    assert camera_nights_within(
        spans,
        start_s=[0, 5 * DAY, 10 * DAY, 25 * DAY],
        end_s=[5 * DAY, 10 * DAY, 20 * DAY, 99 * DAY],
    ).tolist() == [5, 5, 0, 5]
    assert clipped(spans, start_s=5 * DAY, end_s=25 * DAY).camera_nights == 10


def test_refuses_what_ends_before_it_starts():
    with pytest.raises(ValueError, match="deployment of a"):
        nights([deployed("a", 5, 4)])
    with pytest.raises(ValueError, match="outage of a"):
        nights([deployed("a", 0, 4)], [outage("a", 3, 2)])


def test_no_camera_means_no_effort():
    assert nights([]) == 0
    assert seconds_within(union([], []), start_s=[0], end_s=[5]).tolist() == [0]


spans_of_seconds = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 20)), max_size=8)


@settings(max_examples=80, deadline=None)
@given(
    kept=spans_of_seconds,
    removed=spans_of_seconds,
    window=st.tuples(st.integers(0, 80), st.integers(0, 80)),
)
def test_spans_agree_with_counting_second_by_second(kept, removed, window):
    def seconds(spans):
        return {second for start, length in spans for second in range(start, start + length)}

    def merged(spans):
        return union([start for start, _ in spans], [start + length for start, length in spans])

    left = without(merged(kept), merged(removed))
    expected = seconds(kept) - seconds(removed)
    assert left.total_s == len(expected)
    start, end = sorted(window)
    inside = seconds_within(left, start_s=np.array([start]), end_s=np.array([end]))
    assert inside[0] == len(expected & set(range(start, end)))
    assert clipped(left, start_s=start, end_s=end).total_s == inside[0]

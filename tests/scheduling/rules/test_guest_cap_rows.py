"""The rows that caps on guests give a plan: whom sits outside the plan are charged to."""

import numpy as np

from scheduling.rules import guest_caps

HOSTS = 2


def cap_rows(held, *, cap_of_host=3, cap_of_property=0):
    """Two properties, on each of which each of two hosts could bring four guests, in one year."""
    return guest_caps.rows(
        seat_host=np.array([0, 1, 0, 1]),
        seat_property=np.array([0, 0, 1, 1]),
        seat_year=np.zeros(4, dtype=np.int64),
        seat_guests=np.full(4, 4),
        cap_of_host=np.full(2, cap_of_host),
        cap_of_property=np.full(2, cap_of_property),
        held=np.array(held, dtype=np.int64).reshape(-1, 4),
    )


def limits_of(rows):
    """The limit that each seat lies under, by seat."""
    return {int(seat): int(rows.limit[row]) for seat, row in zip(rows.seat, rows.row, strict=True)}


def test_what_guests_have_already_is_charged_to_their_own_host_and_property():
    of_hosts, of_properties = cap_rows([(1, 0, 0, 2)], cap_of_property=3)
    assert limits_of(of_hosts) == {0: 3, 1: 3, 2: 1, 3: 3}
    assert limits_of(of_properties) == {0: 3, 1: 3, 2: 1, 3: 1}


def test_guests_of_somebody_who_is_not_planned_count_for_the_property_alone():
    of_hosts, of_properties = cap_rows([(1, 0, -1, 2), (1, 0, HOSTS, 1)], cap_of_property=4)
    assert limits_of(of_hosts) == {0: 3, 1: 3, 2: 3, 3: 3}
    assert limits_of(of_properties) == {0: 4, 1: 4, 2: 1, 3: 1}


def test_guests_beyond_the_cap_leave_nothing_and_not_less():
    of_hosts, _ = cap_rows([(0, 0, 1, 9)])
    assert limits_of(of_hosts) == {0: 3, 1: 0, 2: 3, 3: 3}

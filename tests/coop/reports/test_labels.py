"""Names on the plan stand beside what they name, on the plan, and not on each other."""

from hypothesis import given
from hypothesis import strategies as st

from coop.reports.labels import Box, place_names

PLAN = Box(left=0, low=0, right=1000, high=800)


def box(left, low, size=50):
    return Box(left=left, low=low, right=left + size, high=low + size)


def test_a_name_with_room_stands_below_its_area_in_the_middle():
    (name,) = place_names([box(400, 400)], [(120, 20)], within=PLAN, gap=5)

    assert name == Box(left=365, low=375, right=485, high=395)


def test_a_name_at_the_edge_stays_on_the_plan():
    (west, south) = place_names(
        [box(5, 300), box(500, 2)], [(200, 20), (200, 20)], within=PLAN, gap=5
    )

    assert west.outside(PLAN) == 0
    assert south.outside(PLAN) == 0


def test_two_names_that_would_cover_each_other_part():
    first, second = place_names(
        [box(400, 400), box(460, 400)], [(150, 20), (150, 20)], within=PLAN, gap=5
    )

    assert first.shared_with(second) == 0


@given(
    places=st.lists(st.tuples(st.integers(0, 950), st.integers(0, 750)), max_size=6),
    width=st.integers(10, 300),
)
def test_every_area_gets_a_name_of_its_own_size_that_never_covers_it(places, width):
    areas = [box(*place) for place in places]
    names = place_names(areas, [(width, 20)] * len(areas), within=PLAN, gap=5)

    assert len(names) == len(areas)
    for area, name in zip(areas, names, strict=True):
        assert (name.right - name.left, name.high - name.low) == (width, 20)
        assert name.shared_with(area) == 0

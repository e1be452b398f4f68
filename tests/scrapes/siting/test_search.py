"""Candidates along routes: laid, shut out, judged together as each alone, and ranked."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapes.siting.candidates import HAZARD, OUTSIDE, SANCTUARY, TooMany, lay_candidates
from scrapes.siting.figures import site_figures
from scrapes.siting.places import Around, CameraPlace, Ground, MappedPlace, Route, StandPlace
from scrapes.siting.ranking import in_order, spread_out, standing
from scrapes.siting.reasons import reasons_of
from scrapes.siting.season_share import no_shares
from scrapes.siting.settings import SitingSettings

RULES = SitingSettings()
FIELD = Ground(boundary=shapely.box(-200, -200, 200, 200))
TRAIL = Route(name="trail", points=((-100.0, 0.0), (100.0, 0.0)))
metres = st.floats(-60, 60, allow_nan=False)
spots = st.tuples(metres, metres)


def laid(*, routes=(TRAIL,), ground=FIELD, spacing_m=10.0, reach_m=20.0, most=20_000):
    return lay_candidates(
        routes,
        ground,
        spacing_m=spacing_m,
        reach_m=reach_m,
        hazard_distance_m=RULES.hazard_distance_m,
        most=most,
    )


def ranked(places, around):
    figures = site_figures(places, around, settings=RULES)
    return standing(figures, no_shares(figures), settings=RULES)


def test_the_grid_covers_the_strip_along_a_trail_and_its_round_ends():
    found = laid()
    # 21 columns of 5 rows along the trail; at each end 5 + 1 points of the half circle of 20 m.
    assert len(found.places) == found.laid == 21 * 5 + 2 * (3 + 1)
    away = shapely.distance(shapely.LineString(TRAIL.points), shapely.points(found.places))
    assert away.max() <= 20


def test_a_point_that_two_routes_pass_is_laid_once():
    crossing = Route(name="crossing", points=((0.0, -100.0), (0.0, 100.0)))
    both = laid(routes=(TRAIL, crossing))
    assert len(np.unique(both.places, axis=0)) == len(both.places) == both.laid
    assert both.laid == 2 * laid().laid - 25


def test_places_shut_out_are_counted_by_the_first_reason():
    ground = Ground(
        boundary=shapely.box(-200, -200, 55, 200),
        sanctuaries=[MappedPlace(name="bed", geometry=shapely.box(35, -30, 200, 30))],
        hazards=[MappedPlace(name="house", geometry=shapely.Point(-155, 0))],
    )
    found = laid(ground=ground)
    east, north = laid().places.T
    house = np.hypot(east + 155, north) < 100
    assert found.excluded == {
        OUTSIDE: int((east > 55).sum()),
        SANCTUARY: int(((east >= 35) & (east <= 55)).sum()),
        HAZARD: int((house & (east < 35)).sum()),
    }
    assert min(found.excluded.values()) > 0
    assert found.laid == sum(found.excluded.values()) + len(found.places)


def test_inside_a_hazard_is_shut_out_even_where_the_settings_ask_for_no_distance():
    ground = replace(FIELD, hazards=[MappedPlace(name="pit", geometry=shapely.box(-5, -5, 5, 5))])
    found = lay_candidates(
        (TRAIL,), ground, spacing_m=10.0, reach_m=20.0, hazard_distance_m=0.0, most=1000
    )
    assert found.excluded[HAZARD] == 1


def test_too_fine_a_grid_is_refused_before_it_is_laid():
    with pytest.raises(TooMany, match="widen the spacing"):
        laid(spacing_m=0.001)
    with pytest.raises(TooMany, match="widen the spacing"):
        laid(most=100)


@settings(max_examples=40, deadline=None)
@given(
    stands=st.lists(st.tuples(spots, st.floats(5, 50), st.floats(0, 359)), max_size=4),
    cameras=st.lists(spots, max_size=3),
    places=st.lists(spots, min_size=1, max_size=6),
    winds=st.lists(st.floats(0, 359), max_size=5),
)
def test_places_judged_together_get_the_reasons_that_each_gets_alone(
    stands, cameras, places, winds
):
    around = Around(
        stands=tuple(
            StandPlace(
                name=f"stand {number}",
                place=place,
                shot_m=shot_m,
                arc_from_deg=turn,
                arc_to_deg=(turn + 90) % 360,
            )
            for number, (place, shot_m, turn) in enumerate(stands)
        ),
        cameras=tuple(CameraPlace(name=f"camera {n}", place=p) for n, p in enumerate(cameras)),
        routes=(TRAIL,),
        ground=FIELD,
        sun_azimuths_deg=(100.0, 130.0, 235.0),
        winds_from_deg=(0.0, 45.0),
        hours_from_deg=np.array(winds),
    )
    figures = site_figures(places, around, settings=RULES)
    shares = no_shares(figures)
    ranks = standing(figures, shares, settings=RULES)
    for number, place in enumerate(places):
        alone = site_figures([place], around, settings=RULES)
        told = reasons_of(figures, shares, number, around, settings=RULES)
        assert told == reasons_of(alone, no_shares(alone), 0, around, settings=RULES)
        _objections_are_those_of_the_reasons(told, ranks, number, around)


def _objections_are_those_of_the_reasons(told, ranks, number, around):
    """The ranking's arrays and the sentences agree, stand by stand."""
    best = int(ranks.best_stand[number])
    watchers = {stand.name for stand in around.stands}
    name = around.stands[best].name if best >= 0 else None
    assert set(ranks.objections[number]) == {
        one.code
        for one in told
        if one.holds is False and (one.subject == name or one.subject not in watchers)
    }


def test_a_place_within_the_shot_goes_before_one_beyond_it_whatever_else_is_wrong():
    stand = StandPlace(name="ladder", place=(0.0, -20.0), shot_m=30.0)
    around = Around(
        stands=(stand,),
        routes=(Route(name="far trail", points=((-90, 70), (90, 70))),),
        hours_from_deg=np.full(5, 180.0),
    )
    ranks = ranked([(0.0, 69.0), (0.0, 4.0)], around)
    assert [len(codes) for codes in ranks.objections] == [2, 2]
    assert in_order(ranks).tolist() == [1, 0]


def test_fewer_objections_go_first_and_then_the_mark():
    stand = StandPlace(name="ladder", place=(0.0, -20.0), shot_m=30.0)
    around = Around(stands=(stand,), routes=(TRAIL,), hours_from_deg=np.zeros(5))
    ranks = ranked([(0.0, 5.0), (0.0, 1.0), (0.0, -45.0), (0.0, 0.0)], around)
    # The third lies south of the stand: its downwind side is 40 m away.
    assert ranks.objections[2] == ("route_near", "downwind_side")
    assert in_order(ranks).tolist() == [3, 1, 0, 2]
    assert ranks.mark[3] > ranks.mark[1] > ranks.mark[0]


def test_the_mark_is_the_mean_of_what_is_known_by_weight():
    stand = StandPlace(name="ladder", place=(0.0, -20.0), shot_m=30.0)
    around = Around(stands=(stand,), routes=(TRAIL,), hours_from_deg=np.array([0.0, 180.0]))
    ranks = ranked([(0.0, 6.0)], around)
    # Downwind side within the shot in half of the hours, broadside, 6 of 30 m from the trail;
    # sessions are not known, so that 0.2 each remain.
    assert ranks.parts["downwind"][0] == 0.5
    assert ranks.mark[0] == pytest.approx((0.5 + 1.0 + 0.8) / 3)
    bare = ranked([(0.0, 6.0)], replace(around, stands=()))
    assert (bare.mark[0], bare.best_stand[0]) == (0, -1)


def test_no_two_places_told_lie_side_by_side():
    places = np.array([(0.0, 0.0), (10.0, 0.0), (49.0, 0.0), (60.0, 0.0), (200.0, 0.0)])
    assert spread_out([1, 0, 2, 3, 4], places, apart_m=50, most=9).tolist() == [1, 3, 4]
    assert spread_out([1, 0, 2, 3, 4], places, apart_m=50, most=2).tolist() == [1, 3]
    assert spread_out([1, 0], places, apart_m=0, most=9).tolist() == [1, 0]

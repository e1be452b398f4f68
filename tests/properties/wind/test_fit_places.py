"""Points of features and routes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.features import feature_points
from properties.wind.places import (
    joined_ways,
    line_points,
    polygon_area_m2,
    polygon_points,
    scrape_points,
)
from properties.wind.slope_air import sun_on_slope, upslope_speed_mps
from tests.properties.wind.fit_cases import SETTINGS, area, at, corridor, square


def test_the_pieces_of_a_line_sum_to_its_length():
    points, lengths = line_points([[0, 0], [30, 0], [30, 45]], spacing_m=10.0)
    assert lengths.sum() == pytest.approx(75.0)
    assert len(points) == 8
    assert points[0] == pytest.approx([75 / 16, 0.0])


def test_a_line_without_length_is_one_point_and_no_line_is_none():
    assert line_points([[3, 4], [3, 4]], spacing_m=5.0)[0].tolist() == [[3, 4]]
    assert line_points(np.empty((0, 2)), spacing_m=5.0)[0].shape == (0, 2)


def test_points_of_a_polygon_lie_inside_it_and_outside_its_holes():
    points = polygon_points(
        square(np.zeros(2), 100.0), spacing_m=10.0, holes=[square(np.zeros(2), 40.0)]
    )
    assert len(points) == 100 - 16
    assert np.abs(points).max(axis=1).min() > 20
    assert np.abs(points).max() < 50


@given(cut=st.floats(-45, 45))
def test_a_polygon_cut_in_two_keeps_its_points(cut):
    whole = polygon_points(square(np.zeros(2), 100.0), spacing_m=7.0)
    west = polygon_points([[-50, -50], [cut, -50], [cut, 50], [-50, 50]], spacing_m=7.0)
    east = polygon_points([[cut, -50], [50, -50], [50, 50], [cut, 50]], spacing_m=7.0)
    together = {tuple(point) for point in np.vstack([west, east])}
    assert {tuple(point) for point in whole} <= together


def test_a_polygon_too_small_for_the_grid_is_one_point():
    points = polygon_points(square(np.array([3.0, 3.0]), 1.0), spacing_m=50.0)
    assert points.tolist() == [[3.0, 3.0]]


def test_area_of_a_polygon():
    assert polygon_area_m2(square(np.array([500.0, -20.0]), 80.0)) == pytest.approx(6400.0)


def test_a_feature_cut_in_two_has_two_shares_that_sum_to_the_whole():
    whole = SETTINGS.share_of_area(kind="bedding", area_m2=30_000.0)
    parts = [SETTINGS.share_of_area(kind="bedding", area_m2=area) for area in (8e3, 22e3)]
    assert whole == pytest.approx(3.0 / SETTINGS.standard_area_ha["bedding"])
    assert sum(parts) == pytest.approx(whole)


def test_ways_that_join_through_others_are_one_group():
    lines = [[[0, 0], [10, 0]], [[50, 0], [60, 0]], [[10.5, 0], [49.5, 0]], [[0, 90], [9, 90]]]
    groups = joined_ways(lines, tolerance_m=1.0)
    assert groups[0] == groups[1] == groups[2] != groups[3]


def test_a_scrape_has_a_loop_round_it():
    points, lengths = scrape_points(at(45, 100), loop_m=40.0, stretch_m=25.0)
    assert np.hypot(*(points[1:] - points[0]).T) == pytest.approx([40.0] * 8)
    assert lengths[1:].sum() == pytest.approx(2 * np.pi * 40)


def test_features_where_deer_stay_come_first_and_weights_sum_to_one():
    where = feature_points([corridor(at(0, 50), at(90, 50)), area("bedding", at(90, 200))])
    assert [feature.kind for feature in where.features] == ["bedding", "corridor"]
    assert where.mean_weights.sum(axis=1) == pytest.approx([1.0, 1.0])
    assert where.way_m[: where.staying_points].sum() == 0


def test_the_sun_stands_higher_over_a_slope_that_faces_it():
    # Geometry: 20° of sun from the south over a 15° slope is 35° on one side, 5° on the other.
    given_ = {"sun_elevation_deg": 20.0, "sun_azimuth_deg": 180.0, "slope_deg": 15.0}
    south = sun_on_slope(**given_, slope_aspect_deg=180.0)
    north = sun_on_slope(**given_, slope_aspect_deg=0.0)
    assert [float(south), float(north)] == pytest.approx(np.sin(np.deg2rad([35, 5])))


def slope_air(elevation, *, rising=False, cloud=0.0, wind=1.0, slope=15.0, aspect=90.0):
    return float(
        upslope_speed_mps(
            sun_elevation_deg=elevation,
            sun_azimuth_deg=270.0,
            sun_rising=rising,
            cloud_fraction=cloud,
            wind_10m_mps=wind,
            slope_deg=slope,
            slope_aspect_deg=aspect,
            settings=SETTINGS,
        )
    )


def test_air_drains_at_night_and_on_a_slope_in_shadow_and_rises_in_the_sun():
    assert slope_air(-20.0) == -SETTINGS.slope_air_mps
    assert slope_air(5.0) < 0
    assert slope_air(5.0, aspect=270.0) > 0


def test_the_suns_trend_decides_near_the_turning():
    # Level sun over a gentle slope: still rising in the evening, not yet in the morning.
    assert slope_air(4.0, slope=2.0, aspect=270.0) > 0
    assert slope_air(4.0, slope=2.0, aspect=270.0, rising=True) < 0


def test_cloud_and_wind_take_slope_air_away_and_the_flat_has_none():
    assert 0 < abs(slope_air(-20.0, cloud=1.0)) < abs(slope_air(-20.0))
    assert abs(slope_air(-20.0, wind=3.0)) < abs(slope_air(-20.0))
    assert slope_air(-20.0, wind=SETTINGS.slope_none_above_mps) == 0
    assert slope_air(-20.0, aspect=None) == 0
    assert slope_air(-20.0, slope=0.0) == 0

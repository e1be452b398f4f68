"""Wind as components, as vectors, and in several units, against published values."""

import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.wind.circular import mean_wind, wind_components, wind_from_components
from properties.wind.gridpoint_forecast import read_gridpoint_forecast
from properties.wind.metar_report import read_metar_report
from properties.wind.wind_csv import read_wind_csv

# ECMWF's help page on wind direction: u = -V sin φ, v = -V cos φ, φ where it blows from.
# 7 m/s at 225° is computed from the same formula.
PUBLISHED = [
    (10, 0, 0, -10),
    (5, 90, -5, 0),
    (8, 180, 0, 8),
    (7, 225, 4.9497, 4.9497),
]


@pytest.mark.parametrize(("speed", "direction", "east", "north"), PUBLISHED)
def test_components_point_where_the_air_goes(speed, direction, east, north):
    assert wind_components(speed, direction) == pytest.approx((east, north), abs=5e-5)


# Computed from φ = 180° + atan2(u, v): the same help page.
@pytest.mark.parametrize(
    ("east", "north", "speed", "direction"),
    [(3, 4, 5, 216.870), (1, -1, math.sqrt(2), 315), (0, -2, 2, 0), (0, 2, 2, 180)],
)
def test_components_turn_back_into_speed_and_direction(east, north, speed, direction):
    assert wind_from_components(east, north) == pytest.approx((speed, direction), abs=5e-4)


@given(st.floats(0.01, 60), st.floats(0, 359.99))
def test_there_and_back_again_is_the_same_wind(speed, direction):
    back_speed, back_direction = wind_from_components(*wind_components(speed, direction))
    assert back_speed == pytest.approx(speed)
    turn = (float(back_direction) - direction + 180) % 360 - 180
    assert turn == pytest.approx(0, abs=1e-6)


def test_no_air_motion_has_no_direction():
    speed, direction = wind_from_components(0, 0)
    assert speed == 0
    assert np.isnan(direction)


def test_the_mean_of_winds_about_north_is_north_and_slower_than_their_mean_speed():
    # Computed: vectors of 3, 5, 4 m/s from 350, 10, 30°.
    speed, direction, steadiness = mean_wind([3, 5, 4], [350, 10, 30])
    assert speed == pytest.approx(3.8610, abs=5e-5)
    assert direction == pytest.approx(11.692, abs=5e-4)
    assert steadiness == pytest.approx(0.96524, abs=5e-6)


def test_opposite_winds_leave_no_direction():
    speed, direction, _ = mean_wind([2, 2], [0, 180])
    assert speed == pytest.approx(0, abs=1e-12)
    assert direction is None


def test_every_source_turns_ten_knots_into_the_same_speed():
    # 1 kt = 1852 m an hour, exactly (International System brochure); 1 mile = 1609.344 m.
    report = read_metar_report(
        "KABC 141453Z 27010KT", reference=datetime(2026, 11, 14, 15, tzinfo=UTC)
    )
    span = "2026-11-14T15:00:00+00:00/PT1H"
    grid = {
        "windDirection": {"uom": "wmoUnit:degree_(angle)", "values": []},
        "windSpeed": {"uom": "wmoUnit:km_h-1", "values": [{"validTime": span, "value": 18.52}]},
    }
    speeds = [
        report.wind.speed_mps,
        read_gridpoint_forecast({"properties": grid}).hours[0].speed_mps,
    ]
    for unit, value in (
        ("kt", "10"),
        ("kmh", "18.52"),
        ("mph", "11.50779448"),
        ("mps", "5.144444"),
    ):
        file = f"time,wind_from_deg,speed_{unit}\n2026-11-14T15:00Z,270,{value}"
        speeds.append(read_wind_csv(file.encode()).hours[0].speed_mps)

    assert speeds == pytest.approx([18520 / 3600] * 6, rel=1e-6)

"""Published plume values, coordinates and wind profile."""

import numpy as np
import pytest

from properties.wind.dispersion import (
    plume_coordinates,
    plume_sigmas,
    reflected_plume,
    relative_concentration,
)
from properties.wind.stability import speed_at_height

A, B, C, D, E, F = range(6)


@pytest.mark.parametrize(
    ("stability", "downwind_m", "sigma_y_m", "sigma_z_m"),
    [
        (A, 100, 21.891, 20.000),  # aefarrell/GasDispersion.jl docs: 21.89081818461976 and 20
        (B, 400, 62.757, 48.000),
        (C, 100, 10.945, 7.921),
        (D, 500, 39.036, 22.678),
        (D, 1000, 76.277, 37.947),
        (E, 400, 23.534, 10.714),
        (F, 500, 19.518, 6.957),
        (F, 1000, 38.139, 12.308),
    ],
)
def test_sigmas_are_those_of_briggs_1973_open_country(stability, downwind_m, sigma_y_m, sigma_z_m):
    sigma_y, sigma_z = plume_sigmas(stability, downwind_m)
    assert sigma_y == pytest.approx(sigma_y_m, abs=0.001)
    assert sigma_z == pytest.approx(sigma_z_m, abs=0.001)


@pytest.mark.parametrize(
    ("stability", "downwind_m", "sigma_z_m"),
    [
        # ISC3 curves, rural; EPA-454/B-95-003b (1995): another scheme of the same thing.
        (B, 100, 10.60469),
        (B, 500, 51.09285),
        (D, 100, 4.651175),
        (D, 500, 18.29689),
        (F, 500, 8.395559),
    ],
)
def test_briggs_and_isc3_differ_by_tens_of_percent_and_no_more(stability, downwind_m, sigma_z_m):
    _, sigma_z = plume_sigmas(stability, downwind_m)
    assert 0.65 < sigma_z / sigma_z_m < 1.5


def test_lateral_spread_is_close_to_isc3():
    # EPA-454/B-95-003b (1995): σy of D and F at 500 m, computed from its coefficients.
    sigma_y, _ = plume_sigmas([D, F], 500)
    assert sigma_y == pytest.approx([36.146, 17.966], rel=0.1)


@pytest.mark.parametrize(
    ("source", "speed", "sigma_y", "sigma_z", "height", "expected"),
    [
        # Turner, Workbook of Atmospheric Dispersion Estimates (1970), problems 1 and 2;
        # from memory.
        (3.0, 7.0, 190.0, 65.0, 0.0, 1.1e-5),
        (80.0, 6.0, 36.0, 18.5, 60.0, 3.3e-5),
    ],
)
def test_turner_1970_worked_problems(source, speed, sigma_y, sigma_z, height, expected):
    ours = source * reflected_plume(
        speed_mps=speed, sigma_y_m=np.float64(sigma_y), sigma_z_m=np.float64(sigma_z),
        across_m=0.0, source_height_m=height, nose_height_m=0.0,
    )  # fmt: skip
    assert ours == pytest.approx(expected, abs=0.05 * 10 ** np.floor(np.log10(expected)))


@pytest.mark.parametrize(
    ("stability", "speed", "x", "y", "height", "nose", "expected"),
    [
        # Turner (1970) with Briggs (1973); values computed independently.
        (D, 3.0, 200, 0, 6, 1, 5.39266e-4),
        (D, 3.0, 200, 20, 6, 1, 2.43066e-4),
        (B, 2.0, 150, 30, 5, 1, 1.61367e-4),
        (F, 1.5, 100, 0, 6, 1, 9.72e-5),
        (D, 1.5, 100, 0, 6, 1, 2.69e-3),
    ],
)
def test_plume_with_reflection(stability, speed, x, y, height, nose, expected):
    ours = relative_concentration(
        stability=stability, speed_mps=speed, downwind_m=x, across_m=y,
        source_height_m=height, nose_height_m=nose,
    )  # fmt: skip
    assert ours == pytest.approx(expected, rel=0.002)


def test_the_edge_at_a_tenth_of_the_axis_is_2_15_sigma_out():
    # Turner (1970) rounds 2.1460 to 2.15.
    sigma_y, _ = plume_sigmas(C, 300.0)
    across = np.array([0.0, 1.1774, 2.1460]) * sigma_y
    ours = relative_concentration(
        stability=C, speed_mps=3.0, downwind_m=300.0, across_m=across,
        source_height_m=1.0, nose_height_m=1.0,
    )  # fmt: skip
    assert ours / ours[0] == pytest.approx([1.0, 0.5, 0.1], abs=1e-4)


@pytest.mark.parametrize(
    ("wind_from_deg", "east", "north", "downwind", "across"),
    [
        # ISC3 user's guide, EPA-454/B-95-003b (1995), equations for receptor coordinates.
        (270, 300, 0, 300, 0),
        (0, 0, -250, 250, 0),
        (315, 200, -100, 212.132, 70.711),
        (350, 50, -400, 402.606, -20.219),
        (90, -120, 35, 120, -35),
    ],
)
def test_plume_coordinates(wind_from_deg, east, north, downwind, across):
    x, y = plume_coordinates(wind_from_deg, east, north)
    assert (float(x), float(y)) == pytest.approx((downwind, across), abs=0.001)


def test_wind_grows_with_height_by_the_rural_power_law():
    # Exponents of Irwin (1979) as in ISC3: 3 m/s at 1 m, carried to 10 m.
    ours = speed_at_height(3.0, stability=[A, D, F], height_m=10.0, known_at_m=1.0)
    assert ours == pytest.approx([3.524693, 4.237613, 10.644402], abs=1e-6)


def test_the_neutral_power_law_is_close_to_the_log_law_over_open_grass():
    # Log law, z0 .03 m (Davenport–Wieringa classes in Stull): 5 m/s at 10 m is 3.6147 at 2 m.
    assert speed_at_height(5.0, stability=D, height_m=2.0) == pytest.approx(3.6147, rel=0.1)


def test_twice_the_wind_halves_the_scent_and_upwind_there_is_none():
    # Turner (1970): C is inverse to u; the plume lies downwind of its source only.
    slow, fast = relative_concentration(
        stability=D, speed_mps=[2.0, 4.0], downwind_m=150.0, across_m=10.0,
        source_height_m=1.0, nose_height_m=1.0,
    )  # fmt: skip
    assert slow == pytest.approx(2 * fast)
    upwind = relative_concentration(
        stability=D, speed_mps=2.0, downwind_m=[0.0, -0.1, -150.0], across_m=0.0,
        source_height_m=1.0, nose_height_m=1.0,
    )  # fmt: skip
    assert upwind.tolist() == [0.0, 0.0, 0.0]


def test_a_plume_without_wind_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        relative_concentration(
            stability=D, speed_mps=0.0, downwind_m=10.0, across_m=0.0,
            source_height_m=1.0, nose_height_m=1.0,
        )  # fmt: skip

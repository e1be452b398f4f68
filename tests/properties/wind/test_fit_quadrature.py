"""The quadrature of wandering and error against plain nodes and against random draws."""

import numpy as np
import pytest
from scipy.stats import vonmises

from properties.sessions.kinds import SessionKind
from properties.wind import dose, wander
from properties.wind.air import StandAir, air_at_stand, checked, stacked
from properties.wind.dispersion import relative_concentration
from properties.wind.fit import stand_fit
from properties.wind.places import StandPlace
from properties.wind.settings import WindSettings
from tests.properties.wind.fit_cases import ORIGIN, SETTINGS, air, area, at, blind, tree_stand

D, F = 3, 5


def session_chance(
    *, distance_m, off_deg, stability, speed_mps, error_deg, height_m=1.0, hours=3, nodes=None
):
    """Chance over a session for one staying nose, straight from the dose's waves."""
    wandering = wander.wander_spread(
        stability=np.array([stability]),
        speed_mps=np.array([speed_mps]),
        gust_factor=np.array([1.0]),
        cover="open",
        settings=SETTINGS,
    )
    moving = StandAir(
        stability=np.array([stability]),
        speed_mps=np.array([speed_mps]),
        axis_rad=np.array([np.pi / 2]),
        wander_rad=wandering,
        error_rad=np.array([0.0]),
    )
    along = dose.paths(
        sources=np.zeros((1, 2)),
        noses=at(90 + off_deg, distance_m)[None],
        source_height_m=height_m,
        cover="open",
        classes=[stability],
        settings=SETTINGS,
    )
    held = dose.waves(along, modes=wander.modes_for(float(wandering.min())))
    errors, weights = wander.error_nodes(
        np.deg2rad([error_deg]), count=nodes or SETTINGS.error_nodes
    )
    chances = dose.step_chances(along, held, air=moving, error_rad=errors)[0, 0]
    return float(((1 - (1 - chances) ** (6 * hours)) * weights[0]).sum())


@pytest.mark.parametrize(
    ("off_deg", "expected"),
    # Computed with 361 nodes over the circle for the conditions of the model: class D,
    # 3 m/s, source and nose at 1 m, alert distance 250 m, 150 m away, three hours.
    [
        (0, {10: 0.98, 20: 0.83, 35: 0.57}),
        (30, {10: 0.51, 20: 0.51, 35: 0.44}),
        (60, {10: 0.02, 20: 0.09, 35: 0.21}),
        (180, {10: 0.0, 20: 0.0, 35: 0.0}),
    ],
)
def test_two_scales_of_direction_give_the_expected_chances(off_deg, expected):
    for error_deg, chance in expected.items():
        ours = session_chance(
            distance_m=150, off_deg=off_deg, stability=D, speed_mps=3.0, error_deg=error_deg
        )
        assert ours == pytest.approx(chance, abs=0.02)


def test_height_over_a_near_nose_and_its_share_on_the_ground():
    # 6 m stand, class F, 1.5 m/s, nose at 30 m, 20° of error.
    given = {"distance_m": 30, "off_deg": 0, "stability": F, "speed_mps": 1.5, "error_deg": 20}
    low, high = session_chance(**given), session_chance(**given, height_m=6.0)
    assert low == pytest.approx(0.91, abs=0.02)
    assert high == pytest.approx(0.0, abs=0.02)
    share = SETTINGS.ground_share
    assert share * low + (1 - share) * high == pytest.approx(0.19, abs=0.02)


@pytest.mark.parametrize("stability", range(6))
@pytest.mark.parametrize("error_deg", [5, 20, 45, 90])
@pytest.mark.parametrize("off_deg", [0, 25, 70])
def test_few_error_nodes_are_as_good_as_many(stability, error_deg, off_deg):
    given = {
        "distance_m": 120, "off_deg": off_deg, "stability": stability, "speed_mps": 3.0,
        "error_deg": error_deg,
    }  # fmt: skip
    assert session_chance(**given) == pytest.approx(session_chance(**given, nodes=361), abs=0.005)


@pytest.mark.parametrize(("stability", "speed_mps"), [(0, 1.0), (2, 3.0), (D, 6.0), (F, 2.0)])
@pytest.mark.parametrize("distance_m", [15.0, 80.0, 350.0])
def test_one_step_is_the_mean_dose_over_a_fine_circle_of_axes(stability, speed_mps, distance_m):
    spread = float(
        wander.wander_spread(
            stability=stability,
            speed_mps=speed_mps,
            gust_factor=1.0,
            cover="open",
            settings=SETTINGS,
        )
    )
    moving = StandAir(
        stability=np.array([stability]),
        speed_mps=np.array([speed_mps]),
        axis_rad=np.array([0.3]),
        wander_rad=np.array([spread]),
        error_rad=np.array([0.0]),
    )
    along = dose.paths(
        sources=np.zeros((1, 2)), noses=distance_m * np.array([[np.sin(0.5), np.cos(0.5)]]),
        source_height_m=1.0, cover="open", classes=[stability], settings=SETTINGS,
    )  # fmt: skip
    held = dose.waves(along, modes=wander.modes_for(spread))
    ours = dose.step_chances(along, held, air=moving, error_rad=np.zeros((1, 1)))[0, 0, 0]
    axis = np.linspace(-np.pi, np.pi, 20_001)[:-1]
    plume = relative_concentration(
        stability=stability, speed_mps=speed_mps, downwind_m=distance_m * np.cos(0.5 - axis),
        across_m=distance_m * np.sin(0.5 - axis), source_height_m=1.0, nose_height_m=1.0,
    )  # fmt: skip
    density = vonmises.pdf(axis, 1 / spread**2, loc=0.3)
    doses = dose.dose_response(plume, settings=SETTINGS)
    assert ours == pytest.approx((doses * density).sum() / density.sum(), abs=0.004)


@pytest.mark.parametrize(
    ("stand", "wind_from_deg", "speed_mps"),
    [(blind(), 285.0, 4.0), (blind(), 230.0, 2.0), (tree_stand(), 270.0, 2.5)],
)
def test_a_fit_agrees_with_drawing_sessions_at_random(stand, wind_from_deg, speed_mps):
    receptors = [
        area("bedding", at(90, 150), side_m=60.0),
        area("food_plot", at(40, 90), side_m=40.0),
    ]
    hours = air(wind_from_deg, speed_mps, error_deg=22.0)
    ours = stand_fit(
        stand=stand,
        receptors=receptors,
        air=hours,
        session_kind=SessionKind.EVENING,
        settings=SETTINGS,
    )
    drawn = drawn_fit(stand, receptors, hours, np.random.default_rng(11))
    assert ours.parts["hunt"].fit == pytest.approx(drawn, abs=0.01)


def drawn_fit(stand: StandPlace, receptors, hours, random, sessions=6000) -> float:
    """Fit by drawing a session's error, its source and each ten minutes' axis.

    Written apart from the quadrature: only the plume, the class and the spreads are shared.
    """
    settings = WindSettings()
    stacked_hours = checked(stacked([hours])[0], settings)
    unalarmed = 0.0
    heights = [(1.0, stand.seat_height_m)]
    if stand.elevated:
        share = settings.ground_share
        heights = [(1 - share, stand.seat_height_m), (share, settings.ground_source_height_m)]
    for share, height in heights:
        moving = air_at_stand(stand=stand, air=stacked_hours, height_m=height, settings=settings)
        error = vonmises.rvs(1 / np.deg2rad(22.0) ** 2, size=sessions, random_state=random)
        survival = [np.ones((sessions, len(each.points))) for each in receptors]
        for hour in range(hours.hours):
            for _ in range(6):
                wandered = vonmises.rvs(
                    1 / moving.wander_rad[0, hour] ** 2, size=sessions, random_state=random
                )
                axis = moving.axis_rad[0, hour] + error + wandered
                for left, each in zip(survival, receptors, strict=True):
                    left *= 1 - dose.dose_response(
                        plume_at(each.points, axis, moving, hour, height), settings=settings
                    )
        expected = sum(
            PRESENCE[each.kind] * (1 - left).mean(axis=1)
            for left, each in zip(survival, receptors, strict=True)
        )
        unalarmed += share * float(np.exp(-expected).mean())
    return unalarmed


PRESENCE = {
    kind: SETTINGS.presence_of(kind=kind, session="evening", part="hunt")
    for kind in ("bedding", "food_plot")
}


def plume_at(points, axis, moving, hour, height):
    downwind = points[:, 0] * np.sin(axis)[:, None] + points[:, 1] * np.cos(axis)[:, None]
    across = points[:, 0] * np.cos(axis)[:, None] - points[:, 1] * np.sin(axis)[:, None]
    return relative_concentration(
        stability=moving.stability[0, hour],
        speed_mps=moving.speed_mps[0, hour],
        downwind_m=downwind,
        across_m=across,
        source_height_m=height,
        nose_height_m=SETTINGS.nose_height_m,
    )


def test_a_walk_agrees_with_drawing_axes_at_random():
    """The plume passes over a deer if it does from any point walked within one draw."""
    route = np.array([at(270, 350), at(270, 30)])
    plot = area("food_plot", at(250, 200) + at(180, 60), side_m=20.0)
    hours = air(10.0, 4.0, error_deg=20.0, sun_elevation_deg=-5.0, sun_azimuth_deg=90.0)
    settings = WindSettings(sight_chance=0.0)
    ours = stand_fit(
        stand=StandPlace(position=ORIGIN, approach=route),
        receptors=[plot],
        air=hours,
        session_kind=SessionKind.MORNING,
        settings=settings,
    )
    random = np.random.default_rng(7)
    stacked_hours = checked(stacked([hours])[0], settings)
    moving = air_at_stand(
        stand=blind(),
        air=stacked_hours,
        height_m=settings.ground_source_height_m,
        settings=settings,
    )
    draws = 4000
    axis = (
        moving.axis_rad[0, 0]
        + vonmises.rvs(1 / np.deg2rad(20.0) ** 2, size=draws, random_state=random)
        + vonmises.rvs(1 / moving.wander_rad[0, 0] ** 2, size=draws, random_state=random)
    )
    greatest = np.zeros((draws, len(plot.points)))
    for along in np.linspace(0, 1, 161):
        source = route[0] + along * (route[1] - route[0])
        plume = plume_at(plot.points - source, axis, moving, 0, 1.0)
        greatest = np.maximum(greatest, dose.dose_response(plume, settings=settings))
    assert ours.chances[0, 0] == pytest.approx(greatest.mean(), abs=0.02)


def test_error_grows_with_lead_time_up_to_its_most_and_is_greatest_when_unknown():
    ours = wander.forecast_error_deg([-3.0, 0.0, 24.0, 72.0, 2000.0, np.nan], settings=SETTINGS)
    assert ours[0] == ours[1] == SETTINGS.error_now_deg
    assert ours[1] < ours[2] < ours[3] < ours[4]
    assert ours[4] == ours[5] == SETTINGS.error_most_deg


def test_error_nodes_have_the_moments_of_their_distribution():
    for spread_deg in (1.0, 10.0, 30.0, 60.0, 120.0):
        nodes, weights = wander.error_nodes(np.deg2rad([spread_deg]), count=31)
        first = float((weights * np.cos(nodes)).sum())
        assert weights.sum() == pytest.approx(1.0)
        expected = wander.moments(np.deg2rad([spread_deg]), count=1)[0, 0]
        assert first == pytest.approx(float(expected), abs=1e-3)


def test_no_error_puts_every_node_at_none():
    nodes, weights = wander.error_nodes(np.array([0.0]), count=9)
    assert nodes.tolist() == [[0.0] * 9]
    assert weights.sum() == pytest.approx(1.0)

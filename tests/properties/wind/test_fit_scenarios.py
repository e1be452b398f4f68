"""What a veteran expects of the wind; common practice, no source."""

from dataclasses import replace

import numpy as np
import pytest

from properties.sessions.kinds import SessionKind
from properties.wind.answer import Cause, StandFit, Verdict
from properties.wind.fit import stand_fit
from properties.wind.places import Behaviour, Receptor, scrape_points
from properties.wind.ways import better_ways
from tests.properties.wind.fit_cases import (
    AFTERNOON,
    SETTINGS,
    air,
    area,
    at,
    blind,
    corridor,
    tree_stand,
)

MORNING, EVENING = SessionKind.MORNING, SessionKind.EVENING
BEDDING_EAST = area("bedding", at(90, 200))
BEFORE_DAWN = {
    "sun_elevation_deg": [-12.0, -1.0, 8.0],
    "sun_azimuth_deg": [95.0, 105.0, 115.0],
    "sun_rising": True,
}
TWO_HOURS_AFTER_SUNRISE = {
    "sun_elevation_deg": [22.0, 27.0, 31.0],
    "sun_azimuth_deg": [105.0, 112.0, 120.0],
    "sun_rising": True,
}
BEFORE_SUNSET = {
    "sun_elevation_deg": [9.0, 6.0, 3.0],
    "sun_azimuth_deg": [264.0, 267.0, 270.0],
}
STABLE_DUSK = {
    "sun_elevation_deg": [-2.0, -4.0, -8.0],
    "sun_azimuth_deg": [272.0, 276.0, 280.0],
}


def judged(stand, receptors, hours, kind=EVENING, settings=SETTINGS) -> StandFit:
    return stand_fit(
        stand=stand, receptors=receptors, air=hours, session_kind=kind, settings=settings
    )


# 1. A ground blind, bedding 200 m to the east, steady wind, dusk.


@pytest.mark.parametrize("share", [0.01, 0.2, 1.0, 3.0])
def test_a_ground_blind_upwind_of_bedding_is_unfit_whatever_its_presence(share):
    answer = judged(blind(), [replace(BEDDING_EAST, share=share)], air(270))
    assert answer.verdict is Verdict.UNFIT
    assert answer.reasons[0].feature == BEDDING_EAST.name
    assert answer.reasons[0].part == "hunt"
    assert answer.reasons[0].cause is Cause.PLUME


def test_the_same_blind_in_a_cross_wind_is_fit():
    assert judged(blind(), [BEDDING_EAST], air(0)).verdict is Verdict.FIT


def test_the_same_blind_in_a_quartering_wind_is_marginal():
    assert judged(blind(), [BEDDING_EAST], air(315)).verdict is Verdict.MARGINAL


# 2. A route upwind of a food plot.

PLOT = area("food_plot", at(270, 300) + at(180, 150))
PAST_THE_PLOT = np.array([at(270, 600), at(270, 5)])


def test_a_route_upwind_of_a_plot_in_the_dark_is_spoiled_though_the_hunt_is_not():
    answer = judged(blind(approach=PAST_THE_PLOT), [PLOT], air(0, 3.0, **BEFORE_DAWN), MORNING)
    assert answer.part_verdict("approach") is Verdict.UNFIT
    assert answer.part_verdict("hunt") is not Verdict.UNFIT
    assert answer.reasons[0].part == "approach"
    assert answer.reasons[0].feature == PLOT.name
    assert answer.reasons[0].cause is Cause.PLUME


def test_the_same_route_in_the_afternoon_while_the_plot_is_empty_is_fit():
    answer = judged(blind(approach=PAST_THE_PLOT), [PLOT], air(0, 3.0, **AFTERNOON), EVENING)
    assert answer.part_verdict("approach") is Verdict.FIT
    assert answer.verdict is Verdict.FIT


# 3. Slopes in the evening.


def test_an_east_slope_in_shadow_drains_onto_the_bedding_below():
    below = area("bedding", at(90, 150))
    hours = air(90, 1.0, **BEFORE_SUNSET)
    on_slope = judged(blind(slope_aspect_deg=90.0, slope_deg=15.0), [below], hours)
    on_flat = judged(blind(), [below], hours)
    assert on_slope.verdict is Verdict.UNFIT
    assert on_flat.verdict is Verdict.FIT


def test_a_west_slope_still_in_the_sun_has_rising_air():
    below = area("bedding", at(270, 150))
    hours = air(90, 1.0, **BEFORE_SUNSET)
    on_slope = judged(blind(slope_aspect_deg=270.0, slope_deg=15.0), [below], hours)
    on_flat = judged(blind(), [below], hours)
    assert on_flat.verdict is Verdict.UNFIT
    assert on_slope.fit > on_flat.fit + 0.2
    assert on_slope.hours[0].air_from_deg == pytest.approx(270, abs=1)


def test_in_a_fresh_wind_the_slope_does_not_matter():
    below = area("bedding", at(90, 150))
    hours = air(0, 6.0, **BEFORE_SUNSET)
    on_slope = judged(blind(slope_aspect_deg=90.0, slope_deg=15.0), [below], hours)
    assert on_slope.fit == pytest.approx(judged(blind(), [below], hours).fit, abs=1e-6)


# 4. An east slope after sunrise.


def test_two_hours_after_sunrise_an_east_slope_spoils_the_bedding_above_not_below():
    stand = blind(slope_aspect_deg=90.0, slope_deg=15.0)
    hours = air(0, 1.0, **TWO_HOURS_AFTER_SUNRISE)
    above = judged(stand, [area("bedding", at(270, 150))], hours, MORNING)
    below = judged(stand, [area("bedding", at(90, 150))], hours, MORNING)
    assert above.verdict is Verdict.UNFIT
    assert below.verdict is Verdict.FIT


# 5. Calm.


def test_dead_calm_is_worse_than_a_cross_wind_and_better_than_dead_downwind():
    calm, cross, downwind = (
        judged(blind(), [BEDDING_EAST], air(direction, speed))
        for direction, speed in ((270, 0.0), (0, 3.0), (270, 3.0))
    )
    assert downwind.fit + 0.05 < calm.fit < cross.fit - 0.05
    assert cross.worst_place < calm.worst_place < downwind.worst_place


# 6. Gusts.

SIXTY_DEGREES_OFF = area("bedding", at(150, 200))


def test_a_gusty_wind_is_worse_to_the_side_and_its_answer_less_certain():
    steady = judged(blind(), [SIXTY_DEGREES_OFF], air(270, 5.0))
    gusty = judged(blind(), [SIXTY_DEGREES_OFF], air(270, 5.0, gust_mps=12.0))
    assert gusty.fit < steady.fit - 0.1
    assert np.ptp(gusty.fit_range) > 1.5 * np.ptp(steady.fit_range)


def test_above_the_gust_limit_elevated_stands_close_and_blinds_do_not():
    hours = air(270, 8.0, gust_mps=SETTINGS.gust_limit_mps + 1.0)
    assert judged(tree_stand(), [BEDDING_EAST], hours).closed_by_gust
    assert not judged(blind(), [BEDDING_EAST], hours).closed_by_gust
    below = air(270, 8.0, gust_mps=SETTINGS.gust_limit_mps - 1.0)
    assert not judged(tree_stand(), [BEDDING_EAST], below).closed_by_gust


# 7. An elevated stand at a stable dusk.


def test_at_a_stable_dusk_height_helps_a_near_nose_but_never_cleans_it():
    near = area("bedding", at(90, 30), side_m=10.0)
    hours = air(270, 2.0, **STABLE_DUSK)
    high, low = judged(tree_stand(), [near], hours), judged(blind(), [near], hours)
    assert high.worst_place < low.worst_place - 0.3
    assert high.worst_place > 0.1


def test_at_200_m_height_helps_no_more():
    far = area("bedding", at(90, 200), side_m=10.0)
    hours = air(270, 2.0, **STABLE_DUSK)
    high, low = judged(tree_stand(), [far], hours), judged(blind(), [far], hours)
    assert high.worst_place > low.worst_place - 0.05


# 8. An exit beside a plot at dark.


@pytest.mark.parametrize("wind_from_deg", [0, 45, 90, 135, 180, 225, 270, 315])
def test_an_exit_beside_a_plot_with_deer_is_spoiled_on_any_wind(wind_from_deg):
    beside = area("food_plot", at(90, 150) + at(0, 40))
    stand = blind(exit=np.array([[0.0, 0.0], at(90, 300)]))
    answer = judged(stand, [beside], air(wind_from_deg, 3.0))
    assert answer.part_verdict("exit") is Verdict.UNFIT
    assert answer.verdict is Verdict.UNFIT
    assert answer.parts["approach"].fit == 1.0


def test_a_pick_up_by_vehicle_or_another_route_mends_the_exit():
    beside = area("food_plot", at(90, 150) + at(0, 40))
    hours = air(0, 3.0)
    assert judged(blind(), [beside], hours).part_verdict("exit") is Verdict.FIT
    away = blind(exit=np.array([[0.0, 0.0], at(225, 400)]))
    assert judged(away, [beside], hours).part_verdict("exit") is not Verdict.UNFIT


def test_another_route_or_a_ride_is_proposed_with_what_it_would_bring():
    beside = area("food_plot", at(90, 150) + at(0, 40))
    stand = blind(exit=np.array([[0.0, 0.0], at(90, 300)]))
    proposed = better_ways(
        stand=stand,
        routes={
            "creek bed": np.array([at(225, 400), [0.0, 0.0]]),
            "through the plot": np.array([at(90, 300) + at(0, 80), at(75, 155), [0.0, 0.0]]),
        },
        receptors=[beside],
        air=air(0, 3.0),
        session_kind=EVENING,
        settings=SETTINGS,
    )
    assert {(each.part, each.way) for each in proposed} >= {("exit", "creek bed"), ("exit", "ride")}
    assert all(each.part == "exit" and each.way != "through the plot" for each in proposed)
    fits = [each.answer.fit for each in proposed]
    assert fits == sorted(fits, reverse=True)
    assert proposed[0].answer.verdict is Verdict.FIT


def test_no_way_is_proposed_where_the_fit_is_not_known():
    hours = air(0, [3.0, np.nan, 3.0])
    stand = blind(exit=np.array([[0.0, 0.0], at(90, 300)]))
    assert (
        better_ways(
            stand=stand,
            routes={},
            receptors=[PLOT],
            air=hours,
            session_kind=EVENING,
            settings=SETTINGS,
        )
        == ()
    )


# 9. Rain on the trail.


def test_rain_washes_the_trail_out_and_leaves_the_plume():
    crossed = corridor(np.array([-100.0, -300.0]), np.array([-100.0, 300.0]))
    stand = blind(approach=np.array([[-200.0, 0.0], [0.0, 0.0]]))
    dry = judged(stand, [crossed], air(270, 3.0))
    wet = judged(stand, [crossed], air(270, 3.0, rain_mm=[10.0, 10.0, 0.0]))
    assert dry.reasons[0].cause is Cause.TRAIL
    assert all(reason.cause is not Cause.TRAIL for reason in wet.reasons)
    assert wet.parts["approach"].fit > dry.parts["approach"].fit + 0.1
    assert wet.parts["hunt"] == dry.parts["hunt"]


# 10. A corridor past the stand.


def test_a_long_corridor_is_as_bad_as_its_worst_point():
    whole = corridor(np.array([25.0, -300.0]), np.array([25.0, 300.0]))
    nearest = Receptor(
        feature_id="nearest",
        name="nearest",
        kind="corridor",
        behaviour=Behaviour.PASSING,
        points=np.array([[25.0, 0.0]]),
        weights=np.array([1.0]),
    )
    hours = air(270, 3.0)
    assert (
        judged(blind(), [whole], hours).worst_place >= judged(blind(), [nearest], hours).worst_place
    )


# Beyond the ten.


def scrape_at(centre: np.ndarray) -> Receptor:
    points, lengths = scrape_points(centre, loop_m=40.0, stretch_m=25.0)
    return Receptor(
        feature_id="s",
        name="scrape",
        kind="scrape",
        behaviour=Behaviour.PASSING,
        points=points,
        weights=lengths,
        loop_centre=centre,
    )


def walked_from(bearing_deg: float, stand=tree_stand):
    route = np.array([at(bearing_deg, 400), at(bearing_deg, 1)])
    return stand(approach=route, exit=route[::-1])


def test_a_tree_stand_in_bow_range_beside_its_scrape_can_be_hunted_in_a_cross_wind():
    answer = judged(walked_from(0), [scrape_at(at(180, 25))], air(270))
    assert answer.verdict is not Verdict.UNFIT


@pytest.mark.parametrize("range_m", [20, 30, 45])
def test_a_stand_on_the_downwind_side_of_its_scrape_is_spoiled_by_the_walk_in(range_m):
    answer = judged(walked_from(90), [scrape_at(at(270, range_m))], air(270))
    assert answer.verdict is Verdict.UNFIT
    assert answer.reasons[0].cause is Cause.TRAIL


def test_a_walk_crosses_a_scrape_s_loop_only_where_deer_use_it_in_that_wind():
    scrape = [scrape_at(at(0, 200))]
    # 40 m east of the scrape, the route meets the edge of the loop that lies downwind of it
    # in a west wind alone; rain tells the trail from plume and sight.
    route = np.array([at(0, 400), at(0, 1)]) + np.array([40.0, 0.0])
    stand = blind(approach=route)

    def won_by_rain(wind_from_deg: float) -> float:
        dry = judged(stand, scrape, air(wind_from_deg))
        wet = judged(stand, scrape, air(wind_from_deg, rain_mm=30.0))
        return wet.parts["approach"].fit - dry.parts["approach"].fit

    assert won_by_rain(270) > 0.02
    assert won_by_rain(90) == pytest.approx(0.0, abs=1e-9)


def test_a_route_that_stops_short_of_a_way_does_not_cross_it():
    way = corridor(np.array([-200.0, 30.0]), np.array([200.0, 30.0]))
    short = walked_from(180, stand=blind)
    dry = judged(short, [way], air(0, 3.0))
    wet = judged(short, [way], air(0, 3.0, rain_mm=20.0))
    assert dry.fit == wet.fit


def test_deer_check_a_scrape_from_downwind_of_it():
    scrape = scrape_at(at(0, 60))
    fixed = replace(scrape, loop_centre=None)
    # The wind from the west puts the loop's used side east of the scrape, away from the
    # stand's plume, which also runs east; the same points all used are met on every side.
    hours = air(270, 3.0)
    turned, every = judged(blind(), [scrape], hours), judged(blind(), [fixed], hours)
    assert turned.worst_place < every.worst_place
    north = judged(blind(), [scrape], air(180, 3.0))
    assert north.worst_place > turned.worst_place


def test_woods_cap_the_reach_of_scent():
    far = area("bedding", at(90, 700))
    assert judged(blind(cover="woods"), [far], air(270)).fit > judged(blind(), [far], air(270)).fit


def test_a_learned_offset_turns_the_wind_and_a_learned_spread_makes_it_less_sure():
    hours = air(0, 4.0)
    turned = blind(wind_offset_deg=np.full(8, -90.0))
    assert judged(turned, [BEDDING_EAST], hours).verdict is Verdict.UNFIT
    straight = air(270, 4.0)
    spread = blind(wind_spread_deg=np.full(8, 60.0))
    sure, unsure = (
        judged(stand, [BEDDING_EAST], straight).worst_place for stand in (blind(), spread)
    )
    assert 0.3 < unsure < sure - 0.2

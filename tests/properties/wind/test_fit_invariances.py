"""What must not change a fit, and which way it may move."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.sessions.kinds import SessionKind
from properties.wind.fit import SessionAir, stand_fit, stand_fits
from properties.wind.places import StandPlace
from tests.properties.wind.fit_cases import ORIGIN, SETTINGS, air, area, at, corridor

EVENING = SessionKind.EVENING
DIRECTIONS = st.floats(0, 359)
SPEEDS = st.floats(0.0, 9.0)
BEDDING = area("bedding", at(75, 180), side_m=80.0)
PLOT = area("food_plot", at(200, 120), side_m=60.0)
WAY = corridor(at(140, 250), at(80, 60), at(10, 220))
ROUTE = np.array([at(250, 400), at(260, 150), [0.0, 0.0]])


def stand(**changes) -> StandPlace:
    given_ = {
        "position": ORIGIN,
        "seat_height_m": 5.0,
        "elevated": True,
        "slope_aspect_deg": 110.0,
        "slope_deg": 10.0,
        "approach": ROUTE,
        "exit": ROUTE[::-1],
    }
    return StandPlace(**(given_ | changes))


def fit_of(place, receptors, hours):
    return stand_fit(
        stand=place, receptors=receptors, air=hours, session_kind=EVENING, settings=SETTINGS
    )


def halves(receptor):
    cut = len(receptor.points) // 3
    for name, part in (("one", slice(0, cut)), ("two", slice(cut, None))):
        weights = receptor.weights[part]
        yield replace(
            receptor,
            feature_id=name,
            points=receptor.points[part],
            weights=weights,
            share=receptor.share * weights.sum() / receptor.weights.sum(),
        )


@settings(max_examples=25, deadline=None)
@given(wind=DIRECTIONS, speed=SPEEDS)
def test_splitting_a_bedding_area_or_a_plot_changes_nothing(wind, speed):
    hours = air(wind, speed)
    whole = fit_of(stand(), [BEDDING, PLOT], hours)
    split = fit_of(stand(), [*halves(BEDDING), *halves(PLOT)], hours)
    assert split.fit == pytest.approx(whole.fit, abs=1e-5)
    assert split.worst_place == pytest.approx(whole.worst_place, abs=1e-5)


@settings(max_examples=15, deadline=None)
@given(wind=DIRECTIONS, speed=SPEEDS)
def test_pieces_of_a_corridor_that_join_count_as_one(wind, speed):
    hours = air(wind, speed)
    whole = fit_of(stand(), [WAY], hours)
    pieces = [replace(piece, group="creek", share=1.0) for piece in halves(WAY)]
    assert fit_of(stand(), pieces, hours).fit == pytest.approx(whole.fit, abs=1e-5)


@settings(max_examples=25, deadline=None)
@given(wind=DIRECTIONS, speed=SPEEDS, turn=st.floats(0, 360))
def test_turning_everything_changes_nothing(wind, speed, turn):
    angle = np.deg2rad(turn)
    matrix = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def turned(points):
        return points @ matrix

    hours = air(wind, speed, gust_mps=1.8 * speed)
    plain = fit_of(stand(), [BEDDING, PLOT, WAY], hours)
    moved = fit_of(
        stand(
            slope_aspect_deg=110.0 + turn,
            approach=turned(ROUTE),
            exit=turned(ROUTE[::-1]),
        ),
        [replace(each, points=turned(each.points)) for each in (BEDDING, PLOT, WAY)],
        replace(
            hours,
            wind_from_deg=(hours.wind_from_deg + turn) % 360,
            sun_azimuth_deg=hours.sun_azimuth_deg + turn,
        ),
    )
    assert moved.fit == pytest.approx(plain.fit, abs=0.002)
    assert moved.worst_place == pytest.approx(plain.worst_place, abs=0.005)


@settings(max_examples=15, deadline=None)
@given(one=DIRECTIONS, other=DIRECTIONS)
def test_in_calm_the_reported_direction_means_nothing(one, other):
    place = stand(slope_deg=0.0)
    first, second = (fit_of(place, [BEDDING, WAY], air(wind, 0.3)) for wind in (one, other))
    assert first.fit == pytest.approx(second.fit, abs=1e-6)


@settings(max_examples=15, deadline=None)
@given(bearing=DIRECTIONS, speed=st.floats(4.0, 12.0))
def test_deer_straight_upwind_of_a_steady_wind_do_not_smell_the_hunter(bearing, speed):
    place = StandPlace(position=ORIGIN)
    upwind = area("bedding", at(bearing, 150), side_m=20.0)
    assert fit_of(place, [upwind], air(bearing, speed, error_deg=5.0)).worst_place < 0.005


ERRORS = st.tuples(st.floats(5, 80), st.floats(5, 80))


def smelled_off(off_deg, distance_m, speed_mps, errors_deg):
    """Chances at a bedding so far off the line downwind, by less and by more error of the wind."""
    place = StandPlace(position=ORIGIN)
    bedding = area("bedding", at(90 + off_deg, distance_m), side_m=10.0)
    return tuple(
        fit_of(place, [bedding], air(270, speed_mps, error_deg=error)).worst_place
        for error in sorted(errors_deg)
    )


@settings(max_examples=30, deadline=None)
@given(distance=st.floats(40, 400), speed=st.floats(1.0, 8.0), errors=ERRORS)
def test_straight_downwind_more_error_never_makes_it_likelier(distance, speed, errors):
    less, more = smelled_off(0.0, distance, speed, errors)
    assert more < less + 0.001


@settings(max_examples=30, deadline=None)
@given(
    off=st.floats(120, 180), distance=st.floats(40, 400), speed=st.floats(1.0, 8.0), errors=ERRORS
)
def test_well_upwind_more_error_never_makes_it_less_likely(off, distance, speed, errors):
    """There a chance is below its mean over all directions, towards which error moves it.

    Not so across a faint wind, which wanders so far that the side is above that mean.
    """
    less, more = smelled_off(off, distance, speed, errors)
    assert more > less - 0.001


def test_many_stands_and_sessions_at_once_are_judged_as_each_alone():
    stands = [stand(), stand(elevated=False, seat_height_m=1.0), StandPlace(position=at(30, 90))]
    sessions = [
        SessionAir(kind=SessionKind.EVENING, air=air([250, 260, 300], [2.0, 3.0, 0.2])),
        SessionAir(
            kind=SessionKind.MORNING,
            air=air(20, 5.0, sun_elevation_deg=[-5.0, 5.0], sun_azimuth_deg=100.0, sun_rising=True),
        ),
    ]
    receptors = [BEDDING, PLOT, WAY]
    together = stand_fits(stands=stands, receptors=receptors, sessions=sessions, settings=SETTINGS)
    for place, fits in zip(stands, together, strict=True):
        for session, answer in zip(sessions, fits, strict=True):
            alone = stand_fit(
                stand=place,
                receptors=receptors,
                air=session.air,
                session_kind=session.kind,
                settings=SETTINGS,
            )
            assert answer.fit == pytest.approx(alone.fit, abs=1e-5)
            assert answer.worst_place == pytest.approx(alone.worst_place, abs=1e-5)
            assert len(answer.hours) == session.air.hours
            assert answer.sector_per_mille == alone.sector_per_mille


def test_chunks_change_nothing(monkeypatch):
    sessions = [SessionAir(kind=EVENING, air=air(wind, 3.0)) for wind in range(0, 360, 40)]
    given_ = {
        "stands": [stand()],
        "receptors": [BEDDING, PLOT, WAY],
        "sessions": sessions,
        "settings": SETTINGS,
    }
    whole = [answer.fit for answer in stand_fits(**given_)[0]]
    monkeypatch.setattr("properties.wind.exposure._CHUNK_BYTES", 1)
    one_by_one = [answer.fit for answer in stand_fits(**given_)[0]]
    assert one_by_one == pytest.approx(whole, abs=1e-5)


def test_sampling_a_way_more_finely_changes_little():
    coarse, fine = (
        fit_of(
            StandPlace(position=ORIGIN),
            [corridor(at(140, 250), at(80, 60), at(10, 220), spacing_m=spacing)],
            air(250, 3.0),
        ).fit
        for spacing in (10.0, 2.5)
    )
    assert fine == pytest.approx(coarse, abs=0.02)

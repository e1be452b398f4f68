"""A season's wind summed up: tables, shares, gaps, and the picture."""

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest

from properties.sessions.kinds import SessionKind
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.history import (
    CALM,
    SPEED_CLASSES,
    SessionWind,
    sector_covers,
    session_wind,
    stand_history,
)
from properties.wind.history_picture import in_words, stand_picture
from properties.wind.learning_settings import WindHistorySettings
from properties.wind.wind_rose import SPEED_EDGES_MPS
from tests.properties.wind.fit_cases import SETTINGS, air, area, at, blind

WEST, EAST = 6, 2


def season(*winds):
    return [SessionAir(kind=SessionKind.EVENING, air=air(wind, 4.0)) for wind in winds]


def history_of(*winds):
    sessions = season(*winds)
    bedding = area("bedding", at(90, 200))
    (fits,) = stand_fits(
        stands=[blind()], receptors=[bedding], sessions=sessions, settings=SETTINGS
    )
    found = [session_wind(session.air) for session in sessions]
    return stand_history(fits, found), found, fits


def test_sessions_stand_in_the_row_of_their_wind_and_the_class_of_their_speed():
    history, _winds, _fits = history_of(270, 270, 90)

    # 4 m/s lies between Beaufort 3 (3.4) and 4 (5.5).
    assert history.sessions[WEST, 2] == 2
    assert history.sessions[EAST, 2] == 1
    assert history.sessions.sum() == 3


def test_a_blind_west_of_bedding_is_huntable_on_the_east_wind_alone():
    history, _winds, fits = history_of(270, 270, 90, 90, 90)

    assert history.share_of_row(WEST) == 0.0
    assert history.share_of_row(EAST) == 1.0
    assert history.huntable_share == pytest.approx(3 / 5)
    assert history.mean_fit[EAST, 2] == pytest.approx(np.mean([fit.fit for fit in fits[2:]]))
    assert np.isnan(history.mean_fit[0]).all()


def test_a_session_nobody_observed_is_unknown_and_in_no_share():
    sessions = season(90)
    dark = replace(sessions[0].air, known=np.zeros(3, dtype=bool))
    sessions.append(SessionAir(kind=SessionKind.EVENING, air=dark))
    (fits,) = stand_fits(
        stands=[blind()],
        receptors=[area("bedding", at(90, 200))],
        sessions=sessions,
        settings=SETTINGS,
    )

    history = stand_history(fits, [session_wind(each.air) for each in sessions])

    assert (history.known, history.unknown, history.huntable_share) == (1, 1, 1.0)


def test_calm_and_variable_sessions_have_a_row_of_their_own():
    assert session_wind(air(np.nan, 2.0)).row == CALM
    assert session_wind(air(270.0, 0.0)).row == CALM


def test_the_sector_that_lasted_longest_names_the_session():
    turning = air([270.0, 0.0, 0.0])

    assert session_wind(turning).row == 0
    assert session_wind(replace(turning, steps=np.array([6.0, 2.0, 2.0]))).row == WEST


def test_an_hour_that_is_only_walked_names_nothing():
    assert session_wind(replace(air(270.0), steps=np.zeros(3))) is None


def test_the_speed_class_is_that_of_the_mean_speed_hunted():
    assert session_wind(air(270.0, [0.5, 0.5, 0.5])).speed_class == 0
    assert session_wind(air(270.0, [1.6, 1.6, 1.6])).speed_class == 1
    assert session_wind(air(270.0, 20.0)).speed_class == SPEED_CLASSES - 1


def covers(*winds, least_sessions=1):
    history, found, fits = history_of(*winds)
    huntable = np.array([[fit.verdict in ("fit", "marginal") for fit in fits]])
    return sector_covers(
        histories={"blind": history},
        huntable=huntable,
        winds=found,
        settings=WindHistorySettings(least_sessions=least_sessions),
    )


def test_the_gap_is_the_sector_with_wind_and_no_huntable_stand():
    found = {cover.sector: cover for cover in covers(270, 270, 90)}

    assert found["W"].is_gap
    assert (found["W"].sessions, found["W"].with_a_stand) == (2, 0)
    assert not found["E"].is_gap
    assert (found["E"].best_stand, found["E"].best_share) == ("blind", 1.0)


def test_of_a_sector_seldom_seen_nothing_is_said():
    found = {cover.sector: cover for cover in covers(270, 270, 90, least_sessions=2)}

    assert found["W"].is_gap
    assert found["E"].is_gap is None
    assert found["N"].is_gap is None


def test_a_property_without_stands_has_a_gap_wherever_wind_blew():
    winds = [SessionWind(row=WEST, speed_class=2)] * 3

    found = sector_covers(
        histories={},
        huntable=np.zeros((0, 3), dtype=bool),
        winds=winds,
        settings=WindHistorySettings(),
    )

    assert [cover.sector for cover in found if cover.is_gap] == ["W"]


def picture(name="Creek & Oak $5 <stand>", **changes):
    history, _winds, _fits = history_of(270, 90, 90)
    given = {
        "name": name,
        "season": "season of 2024",
        "rows": history.as_dict()["rows"],
        "speed_edges_mps": SPEED_EDGES_MPS,
    }
    return stand_picture(**(given | changes))


def test_the_picture_is_an_svg_that_says_in_words_what_it_shows():
    root = ElementTree.fromstring(picture())

    name = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{name}title").text == "Creek & Oak $5 <stand>, season of 2024"
    assert "E 2 sessions, 100 % huntable" in root.find(f"{name}desc").text
    assert "W 1 sessions, 0 % huntable" in root.find(f"{name}desc").text
    assert root.get("role") == "img"


def test_the_same_table_gives_the_same_picture():
    assert picture() == picture()


def test_the_picture_shows_north_above_and_east_to_the_right():
    placed = {}
    root = ElementTree.fromstring(picture())
    for text in root.iter("{http://www.w3.org/2000/svg}text"):
        found = re.search(r"translate\(([\d.]+) ([\d.]+)\)", text.get("transform") or "")
        if found is None and text.get("x"):
            placed[text.text] = (float(text.get("x")), float(text.get("y")))
        elif found:
            placed[text.text] = (float(found[1]), float(found[2]))

    assert placed["N"][1] < placed["S"][1]
    assert placed["E"][0] > placed["W"][0]


def test_a_stand_without_a_known_session_has_a_picture_and_says_so():
    empty = stand_history([], [])

    svg = picture(rows=empty.as_dict()["rows"])

    assert "no session with a known wind" in svg
    assert "no session" in in_words(name="Oak", rows=empty.as_dict()["rows"])

"""How often approach, stand and scrape all fit the recorded wind.

A blind at the origin looks all round; bedding lies 200 m to the east. The winds are those of
the trade: a west wind carries to the bed, a north wind does not (common practice, no source).
"""

from dataclasses import replace

import numpy as np
import pytest

from properties.sessions.kinds import SessionKind
from properties.wind.fit import SessionAir, stand_fits
from properties.wind.settings import WindSettings
from scrapes.siting.figures import site_figures
from scrapes.siting.places import Around, StandPlace
from scrapes.siting.season_share import (
    SessionShares,
    Sitter,
    downwind_held,
    no_shares,
    shares_of_stand,
)
from scrapes.siting.settings import SitingSettings
from tests.properties.wind.fit_cases import air, area, at, blind

RULES = SitingSettings()
WIND = WindSettings()
BED = area("bedding", at(90, 200))
ASIDE = (-16.0, 18.0)
"""Before a stand on a north wind, and aside: deer come round west of the scent."""
AROUND = Around(stands=(StandPlace(name="blind", place=(0.0, 0.0), shot_m=30.0),))


def evening(wind_from_deg, **changes):
    return SessionAir(kind=SessionKind.EVENING, air=air([wind_from_deg] * 3, steps=[4, 6, 4]))


def counted(places, sessions, *, around=AROUND, receptors=(BED,), stand=None, wind=WIND):
    figures = site_figures(places, around, settings=RULES)
    counts = shares_of_stand(
        figures,
        0,
        places_in_wind=figures.places,
        around=around,
        sitter=Sitter(stand=stand or blind(), receptors=receptors, settings=wind),
        sessions=sessions,
        settings=RULES,
    )
    return figures, {name: count.tolist() for name, count in counts.items()}


def test_sessions_on_the_wrong_wind_do_not_count_and_the_others_do():
    north, west = [evening(0.0)] * 3, [evening(270.0)] * 2
    _figures, counts = counted([ASIDE], [*north, *west])
    assert counts["known"] == [5]
    assert counts["stand"] == [3]
    assert counts["all_fit"] == [3]


def test_a_scrape_ahead_and_aside_is_spared_and_one_downwind_of_the_stand_is_not():
    _figures, counts = counted([ASIDE, (0.0, -20.0)], [evening(0.0)] * 4)
    assert counts["stand"] == [4, 4]
    assert counts["scrape"] == [4, 0]
    assert counts["all_fit"] == [4, 0]


def test_a_scrape_upwind_is_spoiled_where_deer_that_smell_it_come_round_below_the_stand():
    # Its smell draws deer 40 m downwind of it: 20 m below a stand that sits 20 m downwind.
    _figures, far = counted([(0.0, 20.0)], [evening(0.0)] * 4)
    near = WindSettings(scrape_loop_m=15.0)
    _figures, close = counted([(0.0, 20.0)], [evening(0.0)] * 4, wind=near)
    assert (far["scrape"], close["scrape"]) == ([0], [4])


def test_the_downwind_side_is_counted_in_the_sessions_that_fit_alone():
    # With wind from the north deer check from 15 m south of the scrape, 16 m from the stand.
    # With wind from the south-east the scrape is spoiled, so that its downwind side, 39 m off,
    # counts nowhere.
    figures, counts = counted([ASIDE], [evening(0.0)] * 3 + [evening(135.0)] * 2)
    assert (counts["all_fit"], counts["downwind_too"]) == ([3], [3])
    shares = SessionShares(**{name: np.array([count]) for name, count in counts.items()})
    assert downwind_held(figures, shares).item() == 1
    # That place lies at 281 degrees from the stand, the scrape itself at 318.
    narrow = replace(AROUND.stands[0], arc_from_deg=300.0, arc_to_deg=330.0)
    _figures, turned = counted(
        [ASIDE], [evening(0.0)] * 3, around=replace(AROUND, stands=(narrow,))
    )
    assert (turned["all_fit"], turned["downwind_too"]) == ([3], [0])


def test_without_a_session_that_fits_the_recorded_hours_tell_of_the_downwind_side():
    around = replace(AROUND, hours_from_deg=np.array([0.0, 0.0, 180.0, 180.0]))
    figures = site_figures([(0.0, 20.0)], around, settings=RULES)
    assert downwind_held(figures, no_shares(figures)).item() == 0.5


def test_a_proposed_scrape_changes_no_fit_of_the_stand():
    sessions = [evening(float(turn)) for turn in range(0, 360, 30)]
    (fits,) = stand_fits(stands=[blind()], receptors=[BED], sessions=sessions, settings=WIND)
    huntable = sum(fit.part_verdict("hunt") in ("fit", "marginal") for fit in fits)
    for place in ((0.0, 20.0), (14.0, -14.0)):
        _figures, counts = counted([place], sessions)
        assert counts["stand"] == [huntable]
    assert 0 < huntable < len(sessions)


def test_a_way_in_upwind_of_the_bed_spoils_sessions_in_which_stand_and_scrape_fit():
    upwind = blind(approach=np.array([(260.0, 140.0), (140.0, 140.0)]))
    _figures, counts = counted([ASIDE], [evening(0.0)] * 3, stand=upwind)
    assert (counts["approach"], counts["stand"], counts["scrape"]) == ([0], [3], [3])
    assert counts["all_fit"] == [0]


def test_a_way_in_that_walks_through_the_scrape_spoils_it():
    through = blind(approach=np.array([(-80.0, 90.0), (0.0, 0.0)]))
    _figures, counts = counted([ASIDE], [evening(0.0)] * 2, stand=through)
    assert counts["scrape"] == [0]
    _figures, dropped_off = counted([ASIDE], [evening(0.0)] * 2)
    assert dropped_off["scrape"] == [2]


def test_a_place_out_of_the_shot_is_not_counted():
    _figures, counts = counted([(0.0, 20.0), (0.0, 60.0)], [evening(0.0)])
    assert counts["known"] == [1, -1]


def test_an_unobserved_hour_makes_the_session_unknown():
    holed = SessionAir(kind=SessionKind.EVENING, air=air(0.0, [3.0, np.nan, 3.0], steps=[4, 6, 4]))
    _figures, counts = counted([ASIDE], [evening(0.0), holed])
    assert (counts["known"], counts["all_fit"]) == ([1], [1])


def test_where_nothing_that_holds_deer_is_mapped_no_session_is_known():
    _figures, counts = counted([(0.0, 20.0)], [evening(0.0)], receptors=())
    assert counts["known"] == [0]


@pytest.mark.parametrize("number", [1, 7])
def test_places_judged_together_count_as_each_alone(number):
    turns = np.radians(np.arange(number) * 51.0)
    places = 22.0 * np.column_stack([np.sin(turns), np.cos(turns)])
    sessions = [evening(float(turn)) for turn in (0, 45, 180, 300)]
    _figures, together = counted(places, sessions)
    alone = [counted([place], sessions)[1] for place in places]
    for name, counts in together.items():
        assert counts == [one[name][0] for one in alone], name

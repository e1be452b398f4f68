"""Where a scrape belongs, how its branch is turned, and the sheet to build it by."""

import dataclasses
import re

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scrapes.siting.broadside import (
    angle_between_deg,
    bearing_deg,
    best_branch_azimuth_deg,
    off_broadside_deg,
)
from scrapes.siting.build_sheet import BuildSheet, Support, build_sheet
from scrapes.siting.figures import SiteFigures, site_figures
from scrapes.siting.places import Around, CameraPlace, Route, StandPlace
from scrapes.siting.ranking import Standing, standing
from scrapes.siting.reason import Reason
from scrapes.siting.reasons import not_judged, reasons_of
from scrapes.siting.season_share import no_shares
from scrapes.siting.settings import SitingSettings

RULES = SitingSettings()
STAND = StandPlace(name="oak ladder", place=(0.0, -20.0), shot_m=35.0)
CAMERA = CameraPlace(name="north", place=(0.0, 8.0))
ROUTE = Route(name="creek trail", points=((-100.0, 15.0), (100.0, 15.0)))
degrees = st.floats(0, 360, allow_nan=False, exclude_max=True)


AROUND = Around(
    stands=(STAND,),
    cameras=(CAMERA,),
    routes=(ROUTE,),
    sun_azimuths_deg=(110.0, 250.0),
    winds_from_deg=(0.0,),
    hours_from_deg=np.zeros(10),
)


@dataclasses.dataclass(frozen=True, kw_only=True, eq=False)
class Judged:
    figures: SiteFigures
    standing: Standing
    reasons: tuple[Reason, ...]

    @property
    def fits_settings(self):
        return bool(self.standing.fits_settings[0])


def judged(*, place=(0.0, 0.0), azimuth=90.0, **changes):
    around = dataclasses.replace(AROUND, **changes)
    figures = site_figures([place], around, settings=RULES, azimuths_deg=[azimuth])
    shares = no_shares(figures)
    return Judged(
        figures=figures,
        standing=standing(figures, shares, settings=RULES),
        reasons=reasons_of(figures, shares, 0, around, settings=RULES),
    )


def reason(judgement, code):
    return next(one for one in judgement.reasons if one.code == code)


@pytest.mark.parametrize(
    ("place", "bearing"), [((0, 5), 0), ((5, 0), 90), ((0, -5), 180), ((-5, 0), 270), ((3, 3), 45)]
)
def test_bearings_go_clockwise_from_north(place, bearing):
    assert bearing_deg((0, 0), place) == pytest.approx(bearing)


def test_a_deer_across_the_line_of_sight_is_broadside_and_along_it_is_not():
    assert off_broadside_deg(90, [0, 180, 90, 270, 45, 350]).tolist() == pytest.approx(
        [0, 0, 90, 90, 45, 10]
    )


@settings(max_examples=100, deadline=None)
@given(body=degrees, sight=degrees, turn=degrees)
def test_turning_everything_together_or_half_round_changes_no_angle(body, sight, turn):
    plain = float(off_broadside_deg(body, sight))
    assert 0 <= plain <= 90
    assert float(off_broadside_deg(body + turn, sight + turn)) == pytest.approx(plain, abs=1e-9)
    assert float(off_broadside_deg(body + 180, sight)) == pytest.approx(plain, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(sights=st.lists(degrees, min_size=1, max_size=5), offset=st.floats(0, 90))
def test_no_other_azimuth_is_better_than_the_best(sights, offset):
    azimuth, worst = best_branch_azimuth_deg(sights, body_to_branch_deg=offset)
    assert 0 <= azimuth < 180
    tried = np.arange(0, 180, 0.5)[:, None] + offset
    others = off_broadside_deg(tried, np.array(sights)[None, :]).max(axis=1)
    assert worst <= others.min() + 1e-6
    assert float(off_broadside_deg(azimuth + offset, sights).max()) == pytest.approx(
        worst, abs=1e-6
    )


def test_stand_and_camera_on_one_line_can_both_have_a_broadside_deer():
    figures = judged(azimuth=40.0).figures
    assert figures.best_azimuth_deg[0] == pytest.approx(90)
    assert figures.best_worst_off_deg[0] == pytest.approx(0, abs=1e-9)
    assert figures.stand_off_deg[0, 0] == pytest.approx(50)
    assert figures.camera_off_deg[0, 0] == pytest.approx(50)


def test_stand_and_camera_at_right_angles_share_what_cannot_be_had():
    azimuth, worst = best_branch_azimuth_deg([0.0, 90.0])
    assert worst == pytest.approx(45)
    assert azimuth in (pytest.approx(45), pytest.approx(135))


def test_a_place_with_everything_right_fits_the_settings():
    judgement = judged()
    assert judgement.fits_settings
    assert {one.code for one in judgement.reasons if not one.holds} == {"wind_share"}


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"routes": (Route(name="far", points=((-9, 31), (9, 31))),)}, "route_near"),
        ({"stands": (dataclasses.replace(STAND, place=(0, -28)),)}, "stand_distance"),
        ({"stands": (dataclasses.replace(STAND, shot_m=15),)}, "stand_distance"),
        (
            {"stands": (dataclasses.replace(STAND, arc_from_deg=10, arc_to_deg=350),)},
            "stand_arc",
        ),
        ({"stands": ()}, "no_stand"),
        ({"azimuth": 20.0}, "stand_broadside"),
        ({"azimuth": 20.0}, "camera_broadside"),
        ({"sun_azimuths_deg": (110.0, 205.0)}, "camera_sun"),
        ({"hours_from_deg": np.array([180.0, 180.0, 0.0])}, "downwind_side"),
    ],
)
def test_each_fault_is_named_with_its_figure(changes, code):
    judgement = judged(**changes)
    found = reason(judgement, code)
    assert found.holds is False
    assert found.facts or code == "no_stand"
    assert code in judgement.standing.objections[0]
    assert not judgement.fits_settings


def test_the_end_of_a_route_counts_and_not_the_line_beyond_it():
    short = Route(name="spur", points=((40.0, 0.0), (80.0, 0.0)))
    assert reason(judged(routes=(short,)), "route_near").facts["distance_m"] == pytest.approx(40)


def test_what_was_not_given_is_not_judged():
    bare = judged(cameras=(), routes=(), winds_from_deg=(), hours_from_deg=np.zeros(0))
    assert bare.fits_settings
    assert reason(bare, "route_near").holds is None
    assert reason(bare, "downwind_side").holds is None
    assert reason(judged(sun_azimuths_deg=()), "camera_sun").holds is None


def test_without_a_watcher_there_is_no_best_azimuth():
    figures = site_figures([(0.0, 0.0)], Around(), settings=RULES)
    assert np.isnan(figures.best_azimuth_deg).all()
    assert np.isnan(figures.azimuth_deg).all()


def test_angles_to_the_sun_cross_north():
    assert float(angle_between_deg(350, 20)) == pytest.approx(30)
    south_of_it = CameraPlace(name="south", place=(0.0, -8.0))
    found = reason(judged(cameras=(south_of_it,), sun_azimuths_deg=(345.0,)), "camera_sun")
    assert found.facts["away_deg"] == pytest.approx(15)


def test_a_stand_at_the_very_place_is_told_and_not_judged():
    here = dataclasses.replace(STAND, place=(0.0, 0.3))
    around = dataclasses.replace(AROUND, stands=(here,))
    judgement = judged(stands=(here,))
    assert reason(judgement, "no_stand").holds is False
    assert "very place" in not_judged(judgement.figures, 0, around)[0]


def test_the_downwind_side_must_lie_within_the_arc_as_well():
    # North wind: deer check from 15 m south, 5 m before a stand that looks north only from 20 m.
    ahead = dataclasses.replace(STAND, arc_from_deg=300, arc_to_deg=60)
    aside = dataclasses.replace(STAND, arc_from_deg=5, arc_to_deg=60)
    assert judged(stands=(ahead,)).figures.downwind_share[0, 0] == 1
    assert judged(stands=(aside,)).figures.downwind_share[0, 0] == 0


def test_one_stand_that_is_right_is_enough():
    turned_away = StandPlace(
        name="turned", place=(20.0, 0.0), shot_m=35.0, arc_from_deg=30, arc_to_deg=150
    )
    judgement = judged(stands=(turned_away, STAND), cameras=(), azimuth=90.0)
    assert judgement.standing.best_stand[0] == 1
    assert judgement.standing.objections[0] == ()
    assert {one.subject for one in judgement.reasons if one.holds is False} == {"turned"}


@settings(max_examples=40, deadline=None)
@given(turn=degrees, east=st.floats(-500, 500), north=st.floats(-500, 500))
def test_moving_and_turning_the_whole_ground_changes_no_judgement(turn, east, north):
    assume(abs(turn % 90) > 1e-6)
    angle = np.radians(turn)

    def moved(place):
        x, y = place
        return (
            float(x * np.cos(angle) + y * np.sin(angle) + east),
            float(-x * np.sin(angle) + y * np.cos(angle) + north),
        )

    first = judged(azimuth=70.0)
    second = judged(
        place=moved((0.0, 0.0)),
        azimuth=70.0 + turn,
        stands=(dataclasses.replace(STAND, place=moved(STAND.place)),),
        cameras=(dataclasses.replace(CAMERA, place=moved(CAMERA.place)),),
        routes=(Route(name=ROUTE.name, points=[moved(point) for point in ROUTE.points]),),
        sun_azimuths_deg=tuple(sun + turn for sun in AROUND.sun_azimuths_deg),
        winds_from_deg=(turn,),
        hours_from_deg=AROUND.hours_from_deg + turn,
    )
    assert [one.holds for one in first.reasons] == [one.holds for one in second.reasons]
    assert second.figures.stand_off_deg[0, 0] == pytest.approx(
        first.figures.stand_off_deg[0, 0], abs=1e-6
    )


@pytest.mark.parametrize("support", list(Support))
def test_cautions_stand_on_every_sheet_and_cannot_be_left_out(support):
    sheet = build_sheet(support=support, branch_azimuth_deg=450.0, settings=RULES)
    codes = {caution.code for caution in sheet.cautions}
    always = {"local_rules", "buried_lines", "eyes_and_hands", "overhead", "no_promise"}
    assert always <= codes
    assert [caution.code for caution in sheet.cautions[:2]] == ["local_rules", "buried_lines"]
    assert ({"hearing", "driver"} <= codes) == (support is Support.STEEL_POST)
    assert any("90° true" in step for step in sheet.steps)
    with pytest.raises(TypeError):
        BuildSheet(support=support, materials=(), measures=(), steps=(), cautions=())
    with pytest.raises((AttributeError, TypeError)):
        sheet.cautions = ()


def test_measures_stand_in_metres_and_in_feet():
    sheet = build_sheet(support=Support.STEEL_POST, branch_azimuth_deg=0.0, settings=RULES)
    assert str(sheet.measures[0]) == "Branch tip above the ground: 1.22 to 1.37 m (4 to 4.5 ft)"


def test_wire_is_never_named_without_its_system_and_its_millimetres():
    named = re.compile(r"No\. \d+ (Washburn & Moen|SWG|AWG)[^(]*\(\d\.\d\d mm, ")
    for support in Support:
        sheet = build_sheet(support=support, branch_azimuth_deg=0.0, settings=RULES)
        (wire,) = [item for item in sheet.materials if "No. " in item]
        assert len(named.findall(wire)) == wire.count("No. ") == 3

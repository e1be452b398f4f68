"""A place set among the property's map, stands, cameras, sun and wind."""

from datetime import UTC, date, datetime, timedelta

import pytest

from properties.wind.models import ObservedHour
from scrapes.siting.queries import judge_place
from scrapes.siting.season_air import season_air
from tests.cast import NOW
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape
from tests.scrapes.siting.scene import (
    autumn,
    camera_at,
    corridor,
    make_feature,
    off,
    record_wind,
    stand_at,
)


def judged(land, *, azimuth=None, now=NOW):
    return judge_place(
        land,
        longitude=land.longitude,
        latitude=land.latitude,
        branch_azimuth_deg=azimuth,
        now=now,
    )


def reason(answer, code, subject=None):
    (found,) = [
        one
        for one in answer.reasons
        if one.code == code and (subject is None or one.subject == subject)
    ]
    return found


def test_a_place_near_a_trail_within_a_bows_shot_fits(cast):
    corridor(cast.north)
    stand_at(cast.north, "Oak ladder", 180, 20)
    camera_at(cast.north, 0, 6)

    answer = judged(cast.north)

    assert answer.fits_settings, [one for one in answer.reasons if one.holds is False]
    assert reason(answer, "route_near").facts["distance_m"] == pytest.approx(10, abs=0.1)
    assert reason(answer, "stand_distance").facts["distance_m"] == pytest.approx(20, abs=0.1)
    assert answer.branch_azimuth_deg == pytest.approx(90, abs=0.5)
    assert not answer.azimuth_given


def test_a_branch_along_the_line_of_sight_is_off_broadside(cast):
    stand_at(cast.north, "Oak ladder", 180, 20)

    answer = judged(cast.north, azimuth=20.0)

    assert reason(answer, "stand_broadside").facts["off_broadside_deg"] == pytest.approx(
        70, abs=0.5
    )
    assert answer.best_azimuth_deg == pytest.approx(90, abs=0.5)
    assert not answer.fits_settings


def test_stands_that_reach_the_place_are_judged_and_else_the_nearest(cast):
    stand_at(cast.north, "Far", 90, 400)
    stand_at(cast.north, "Near", 90, 60)

    assert [one.subject for one in judged(cast.north).reasons if one.code == "stand_distance"] == [
        "Near"
    ]
    stand_at(cast.north, "Reaching", 270, 20)
    answer = judged(cast.north)
    assert reason(answer, "stand_distance").subject == "Reaching"


def test_without_any_stand_a_scrape_cannot_be_hunted(cast):
    answer = judged(cast.north)

    assert reason(answer, "no_stand").holds is False
    assert answer.branch_azimuth_deg is None


def test_a_place_behind_the_stands_arc_is_told(cast):
    stand_at(cast.north, "Oak ladder", 180, 20, arc_from_deg=300, arc_to_deg=60)
    stand_at(cast.north, "Turned", 90, 20, arc_from_deg=30, arc_to_deg=150)

    answer = judged(cast.north)

    assert reason(answer, "stand_arc", "Oak ladder").holds is True
    assert reason(answer, "stand_arc", "Turned").holds is False


@pytest.mark.parametrize(
    ("kind", "code", "geometry_of"),
    [
        (
            "sanctuary",
            "sanctuary",
            lambda land: {
                "type": "Polygon",
                "coordinates": [[list(off(land, bearing, 50)) for bearing in (0, 270, 180, 90, 0)]],
            },
        ),
        (
            "hazard",
            "hazard",
            lambda land: {"type": "Point", "coordinates": list(off(land, 45, 80))},
        ),
    ],
)
def test_sanctuaries_and_hazards_speak_against_a_place(cast, kind, code, geometry_of):
    make_feature(cast.north, kind, "The place", geometry_of(cast.north))

    found = reason(judged(cast.north), code)

    assert (found.holds, found.subject) == (False, "The place")


def test_outside_the_boundary_is_a_reason_with_its_metres(cast):
    longitude, latitude = off(cast.north, 90, 5000)

    answer = judge_place(
        cast.north, longitude=longitude, latitude=latitude, branch_azimuth_deg=0, now=NOW
    )

    found = reason(answer, "boundary")
    assert (found.holds, found.facts["inside"]) == (False, False)
    assert found.facts["distance_m"] > 3000


def test_the_edge_of_a_food_plot_is_a_way_deer_go(cast):
    ring = [list(off(cast.north, bearing, 40)) for bearing in (0, 270, 180, 90, 0)]
    make_feature(cast.north, "food_plot", "Clover", {"type": "Polygon", "coordinates": [ring]})

    answer = judged(cast.north)

    assert reason(answer, "route_near").subject == "the edge of Clover"
    # The middle of a square on its corner, 40 m from each corner: 40/sqrt(2) from the sides.
    assert reason(answer, "route_near").facts["distance_m"] == pytest.approx(28.3, abs=0.2)
    assert reason(answer, "food_plot").facts["distance_m"] == 0


def test_a_camera_looking_into_the_rising_sun_is_told(cast):
    autumn(cast.north)
    camera_at(cast.north, 290, 8)

    found = reason(judged(cast.north), "camera_sun")

    # The camera hangs west-north-west and looks towards 110°, where the sun rises in November.
    assert found.holds is False
    assert found.facts["away_deg"] < 10


def test_a_camera_entered_at_the_scrape_itself_is_named_and_not_judged(cast):
    make_deployment(make_camera(cast.north, "Unplaced"), make_scrape(cast.north))

    answer = judged(cast.north)

    assert any("Unplaced" in note for note in answer.not_judged)
    assert not answer.camera_off_broadside_deg


def test_the_seasons_sun_swings_south_towards_midwinter(cast):
    autumn(cast.north)

    azimuths = season_air(cast.north, now=NOW).sun_azimuths_deg

    rises = [azimuth for azimuth in azimuths if azimuth < 180]
    # At 43.2 N the sun rises near 94 degrees on 1 October and near 123 at the solstice (computed
    # from cos A = sin(declination) / cos(latitude), refraction apart).
    assert min(rises) == pytest.approx(94, abs=1.5)
    assert max(rises) == pytest.approx(122.5, abs=1.5)


def test_the_downwind_side_follows_the_recorded_wind(cast):
    autumn(cast.north)
    stand_at(cast.north, "Oak ladder", 180, 20)
    record_wind(cast.north, 360.0)

    towards = judged(cast.north)
    ObservedHour.objects.update(wind_from_deg=180.0)
    away = judged(cast.north)

    # A north wind carries scent to the stand's side: 15 m south, 5 m from the stand; a south
    # wind to 15 m north, 35 m from it and beyond 27 m.
    assert reason(towards, "downwind_side").holds is True
    assert towards.downwind[0].share == 1
    assert reason(away, "downwind_side").holds is False
    assert away.downwind[0].share == 0
    assert away.air.wind.sector_shares[4] == 1


def test_wind_outside_the_seasons_sessions_counts_for_nothing(cast):
    autumn(cast.north)
    ObservedHour.objects.create(
        property=cast.north,
        source="own station",
        starts_at=datetime(2025, 10, 5, 6, tzinfo=UTC),
        wind_from_deg=90,
        speed_mps=3,
    )

    answer = judged(cast.north)

    assert answer.air.wind.sector_shares == (0.0,) * 8
    assert any("No wind was recorded" in note for note in answer.not_judged)


def test_without_a_season_the_days_around_the_peak_are_taken_and_it_says_so(cast):
    air = season_air(cast.north, now=NOW)

    assert air.assumed
    assert air.first_on <= date(2025, 11, 13) <= air.last_on
    assert len(air.sun_azimuths_deg) > 10


def test_queries_do_not_grow_with_the_map(cast, django_assert_num_queries):
    corridor(cast.north)
    stand_at(cast.north, "S0", 180, 20)
    camera_at(cast.north, 0, 6)
    with django_assert_num_queries(8) as few:
        judged(cast.north)
    for number in range(4):
        corridor(cast.north, f"Trail {number}", north_m=20 + number)
        stand_at(cast.north, f"T{number}", 100 + 20 * number, 15)
        camera_at(cast.north, 30 * number, 6, f"Camera {number + 2}")
    with django_assert_num_queries(len(few)):
        judged(cast.north)


def test_a_walk_in_that_nobody_mapped_is_told(cast):
    stand_at(cast.north, "Oak ladder", 180, 20)

    assert any("No walk in to Oak ladder" in note for note in judged(cast.north).not_judged)


def test_cameras_of_the_past_are_not_near(cast):
    hung = camera_at(cast.north, 0, 6)
    hung.ends_at = NOW - timedelta(days=1)
    hung.save()

    assert not judged(cast.north).camera_off_broadside_deg

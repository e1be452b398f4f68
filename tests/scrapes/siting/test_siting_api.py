"""Siting over HTTP: a place set among the property's map, stands, cameras, sun and wind."""

import json
import sys
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

JUDGE, SHEET = "/api/v1/siting/judge/", "/api/v1/siting/build-sheet/"


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


class TestOverHTTP:
    def body(self, land, **fields):
        return {
            "property": land.id,
            "longitude": land.longitude,
            "latitude": land.latitude,
            **fields,
        }

    def test_a_manager_is_answered_with_reasons_and_cautions(self, cast):
        corridor(cast.north)
        stand_at(cast.north, "Oak ladder", 180, 20)

        answer = cast.client(cast.manager).post(JUDGE, self.body(cast.north))

        assert answer.status_code == 200, answer.data
        assert answer.data["stands"][0]["name"] == "Oak ladder"
        assert {"route_near", "stand_distance", "boundary"} <= {
            one["code"] for one in answer.data["reasons"]
        }
        assert "local law" in answer.data["cautions"][0]
        assert b"NaN" not in answer.content

    def test_who_may_not_build_scrapes_is_refused(self, cast):
        for person in (cast.member, cast.landowner):
            assert cast.client(person).post(JUDGE, self.body(cast.north)).status_code == 403
        hidden = cast.client(cast.stranger).post(JUDGE, self.body(cast.north))
        unknown = cast.client(cast.stranger).post(
            JUDGE, {**self.body(cast.north), "property": cast.member.id}
        )
        assert hidden.status_code == unknown.status_code == 400
        assert hidden.data == unknown.data

    @pytest.mark.parametrize(
        ("fields", "pointer"),
        [
            ({"longitude": "NaN"}, "#/longitude"),
            ({"latitude": 91}, "#/latitude"),
            ({"branch_azimuth_deg": -1}, "#/branch_azimuth_deg"),
        ],
    )
    def test_a_place_that_cannot_be_is_named(self, cast, fields, pointer):
        answer = cast.client(cast.manager).post(JUDGE, self.body(cast.north, **fields))

        assert answer.status_code == 400
        assert answer.data["errors"][0]["pointer"] == pointer

    def test_the_sheet_comes_with_its_cautions_as_data_and_as_a_page(self, cast):
        client = cast.client(cast.member)
        asked = {"property": cast.north.id, "branch_azimuth_deg": 140}

        sheet = client.get(SHEET, asked)
        page = client.get(SHEET, {**asked, "format": "html"})

        assert sheet.status_code == 200, sheet.data
        codes = {caution["code"] for caution in sheet.data["cautions"]}
        assert {"local_rules", "buried_lines", "hearing", "driver", "overhead"} <= codes
        assert any("140° true" in step for step in sheet.data["steps"])
        assert page["Content-Type"] == "text/html; charset=utf-8"
        text = page.content.decode()
        for caution in sheet.data["cautions"]:
            assert caution["sentence"].replace("'", "&#x27;") in text

    def test_the_sheet_comes_on_paper_with_its_map_and_its_cautions(self, cast):
        stand_at(cast.north, "Oak ladder", 180, 20)
        asked = {
            "property": cast.north.id,
            "branch_azimuth_deg": 140,
            "longitude": cast.north.longitude,
            "latitude": cast.north.latitude,
            "format": "pdf",
        }

        paper = cast.client(cast.member).get(SHEET, asked)

        assert paper.status_code == 200, paper.data
        assert paper["Content-Type"] == "application/pdf"
        assert paper.content.startswith(b"%PDF-")
        assert paper["Cache-Control"] == "private, no-cache"

    def test_without_the_systems_libraries_it_says_which_and_the_page_still_comes(
        self, cast, monkeypatch
    ):
        monkeypatch.setitem(sys.modules, "weasyprint", None)
        client = cast.client(cast.member)
        asked = {"property": cast.north.id, "branch_azimuth_deg": 140}

        refused = client.get(SHEET, {**asked, "format": "pdf"})

        assert (refused.status_code, json.loads(refused.content)["code"]) == (503, "no_paper")
        assert "libpango-1.0-0" in json.loads(refused.content)["detail"]
        assert client.get(SHEET, {**asked, "format": "html"}).status_code == 200

    def test_whoever_may_not_know_cameras_gets_the_sheets_map_without_them(self, cast):
        camera_at(cast.north, 0, 6, "Hidden camera")
        asked = {
            "property": cast.north.id,
            "branch_azimuth_deg": 140,
            "longitude": cast.north.longitude,
            "latitude": cast.north.latitude,
            "format": "html",
        }

        managers = cast.client(cast.manager).get(SHEET, asked).content.decode()
        members = cast.client(cast.member).get(SHEET, asked).content.decode()

        assert "Hidden camera" in managers
        assert "<svg" in members
        assert "camera" not in members.split("<svg")[1].split("</svg>")[0].lower()

    def test_half_a_place_is_no_place(self, cast):
        asked = {"property": cast.north.id, "branch_azimuth_deg": 140, "longitude": -91.49}

        answer = cast.client(cast.manager).get(SHEET, asked)

        assert answer.status_code == 400
        assert answer.data["errors"][0]["pointer"] == "#/latitude"

    def test_a_manager_sees_the_place_on_a_map(self, cast):
        stand_at(cast.north, "Oak <ladder>", 180, 20)
        asked = self.body(cast.north, branch_azimuth_deg=90)

        picture = cast.client(cast.manager).get("/api/v1/siting/picture/", asked)

        assert picture.status_code == 200, picture.content
        assert picture["Content-Type"] == "image/svg+xml; charset=utf-8"
        assert "default-src 'none'" in picture["Content-Security-Policy"]
        assert b"Oak &lt;ladder&gt;, 20 m" in picture.content
        assert b"branch points to 90" in picture.content

    def test_the_map_is_for_those_who_may_build_scrapes(self, cast):
        asked = self.body(cast.north)
        for person in (cast.member, cast.landowner):
            refused = cast.client(person).get("/api/v1/siting/picture/", asked)
            assert refused.status_code == 403
            assert b"<svg" not in refused.content
        hidden = cast.client(cast.stranger).get("/api/v1/siting/picture/", asked)
        assert hidden.status_code == 400

    @pytest.mark.parametrize("extra", [{"cautions": "no"}, {"support": "ladder"}])
    def test_nothing_leaves_a_caution_out(self, cast, extra):
        asked = {"property": cast.north.id, "branch_azimuth_deg": 140, **extra}

        assert cast.client(cast.manager).get(SHEET, asked).status_code == 400

    @pytest.mark.parametrize("azimuth", ["nan", "361", "north"])
    def test_an_azimuth_that_is_none_is_named(self, cast, azimuth):
        asked = {"property": cast.north.id, "branch_azimuth_deg": azimuth}
        answer = cast.client(cast.manager).get(SHEET, asked)

        assert answer.data["errors"][0]["pointer"] == "#/branch_azimuth_deg"

    def test_the_sheet_is_for_those_who_see_the_propertys_scrapes(self, cast):
        asked = {"property": cast.north.id, "branch_azimuth_deg": 140}

        assert cast.client(cast.landowner).get(SHEET, asked).status_code == 403
        assert cast.client(cast.stranger).get(SHEET, asked).status_code == 400
        refused = cast.client(cast.stranger).get(SHEET, {**asked, "format": "html"})
        assert refused.status_code == 400
        assert b"cautions" not in refused.content


def test_a_walk_in_that_nobody_mapped_is_told(cast):
    stand_at(cast.north, "Oak ladder", 180, 20)

    assert any("No walk in to Oak ladder" in note for note in judged(cast.north).not_judged)


def test_cameras_of_the_past_are_not_near(cast):
    hung = camera_at(cast.north, 0, 6)
    hung.ends_at = NOW - timedelta(days=1)
    hung.save()

    assert not judged(cast.north).camera_off_broadside_deg

"""Siting over HTTP: places judged and build sheets, for whom and in what form."""

import json
import sys

import pytest

from tests.scrapes.siting.scene import camera_at, corridor, stand_at

JUDGE, SHEET = "/api/v1/siting/judge/", "/api/v1/siting/build-sheet/"


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
        assert answer.data["errors"][0]["pointer"] == "?latitude"

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

        assert answer.data["errors"][0]["pointer"] == "?branch_azimuth_deg"

    def test_the_sheet_is_for_those_who_see_the_propertys_scrapes(self, cast):
        asked = {"property": cast.north.id, "branch_azimuth_deg": 140}

        assert cast.client(cast.landowner).get(SHEET, asked).status_code == 403
        assert cast.client(cast.stranger).get(SHEET, asked).status_code == 400
        refused = cast.client(cast.stranger).get(SHEET, {**asked, "format": "html"})
        assert refused.status_code == 400
        assert b"cautions" not in refused.content

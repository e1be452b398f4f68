"""The map of a place for a scrape: what is where on it, and what it tells without eyes."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely

from coop.printing import palette
from scrapes.siting.figures import site_figures
from scrapes.siting.picture import site_svg
from scrapes.siting.picture_place import MAP_SIZE, MARGIN, SitePicture
from scrapes.siting.places import Around, CameraPlace, Ground, MappedPlace, Route, StandPlace
from scrapes.siting.settings import SitingSettings

RULES = SitingSettings()
SVG = "{http://www.w3.org/2000/svg}"
MIDDLE = MARGIN + MAP_SIZE / 2
AROUND = Around(
    stands=(
        StandPlace(name="Oak & ladder", place=(0.0, -20.0), shot_m=30.0, arc_to_deg=90.0),
        StandPlace(name="Far <tower>", place=(30.0, 30.0), shot_m=5.0),
    ),
    cameras=(CameraPlace(name="Camera 1", place=(-6.0, 5.0)),),
    routes=(Route(name="Creek trail", points=((-90, 12), (90, 12))),),
    scrapes=(MappedPlace(name="Bench oak", geometry=shapely.Point(-25, 22)),),
    ground=Ground(
        boundary=shapely.box(-300, -30, 300, 300),
        sanctuaries=(MappedPlace(name="Bed", geometry=shapely.box(-60, 28, -30, 60)),),
        hazards=(MappedPlace(name="Old well", geometry=shapely.Point(33, -10)),),
        food_plots=(MappedPlace(name="Clover", geometry=shapely.box(20, -25, 60, -15)),),
    ),
    sun_azimuths_deg=(100, 250),
)
SHARES = (0.0, 0.0, 0.0, 0.05, 0.0, 0.0, 0.0, 0.5)


def drawn(*, around=AROUND, azimuth=90.0, shares=SHARES, place=(0.0, 0.0)):
    azimuths = None if azimuth is None else [azimuth]
    return site_svg(
        SitePicture(
            property_name="North & South",
            figures=site_figures([place], around, settings=RULES, azimuths_deg=azimuths),
            around=around,
            approaches=[np.array([(0.0, -20.0), (0.0, -90.0)])],
            wind_shares=shares,
            settings=RULES,
        )
    )


def texts(svg):
    found = ElementTree.fromstring(svg).iter(f"{SVG}text")
    return [each.text for each in found if each.get("aria-hidden") is None]


def test_it_tells_its_words_to_whoever_cannot_see_it():
    root = ElementTree.fromstring(drawn())
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "Map of a place for a scrape on North & South"
    words = root.find(f"{SVG}desc").text
    for told in (
        "North is up",
        "branch points to 90° true",
        "Oak & ladder stands 20 m to the S (180°), a deer at the branch 0° off broadside",
        "Camera 1 hangs 8 m to the NW (310°) and looks towards 130°",
        "Creek trail passes 12 m away",
        "Downwind of the scrape lies SE with wind from NW (50% of session hours).",
        "The boundary is 30 m away, the place inside it.",
    ):
        assert told in words
    assert "Far <tower>" not in words


def test_names_stand_beside_what_they_name_and_are_escaped():
    svg = drawn()
    assert {"Oak & ladder, 20 m", "Far <tower>", "Camera 1", "Creek trail", "Old well", "N"} <= set(
        texts(svg)
    )
    assert "Far &lt;tower&gt;" in svg


def test_the_scale_bar_is_as_long_as_it_says():
    svg = drawn()
    (told,) = [text for text in texts(svg) if re.fullmatch(r"\d+ m \(\d+ yd\)", text)]
    metres, yards = (int(number) for number in re.findall(r"\d+", told))
    width_m = int(re.search(r"the map is (\d+) m wide", svg).group(1))
    halves = re.findall(r'd="M([\d.]+),(?:[\d.]+)L([\d.]+),[^"]*Z"[^>]*stroke="#1d211f"', svg)
    bars = [(float(a), float(b)) for a, b in halves if float(a) in (MARGIN + 8,)]
    first_half = bars[0][1] - bars[0][0]
    assert 2 * first_half == pytest.approx(metres * MAP_SIZE / width_m, abs=0.3)
    assert yards == round(metres / 0.9144)


@pytest.mark.parametrize(("azimuth", "towards"), [(0, (0, -1)), (90, (1, 0)), (225, (-0.7, 0.7))])
def test_the_branch_points_where_it_says(azimuth, towards):
    svg = drawn(azimuth=float(azimuth), around=Around())
    (ends,) = re.findall(r'd="M([\d.]+),([\d.]+)L([\d.]+),([\d.]+)"[^>]*stroke-width="3.2"', svg)[
        :1
    ]
    x, y, to_x, to_y = (float(one) for one in ends)
    assert (to_x - x, to_y - y) == pytest.approx([19 * one for one in towards], abs=0.5)


def test_a_stand_is_drawn_at_its_place():
    svg = drawn()
    half_m = int(re.search(r"the map is (\d+) m wide", svg).group(1)) / 2
    apex_y = MIDDLE + 20 * MAP_SIZE / 2 / half_m - 7
    apexes = re.findall(r'd="M([\d.]+),([\d.]+)L[^"]*Z" [^>]*class="fill-orange stroke-ink"', svg)
    assert (f"{MIDDLE:.1f}", f"{apex_y:.1f}") in apexes


def test_the_downwind_side_lies_across_from_the_wind():
    svg = drawn(around=Around(), azimuth=None)
    (rim,) = re.findall(r'd="M([^"]*)" class="stroke-blue" fill="none"', svg)
    points = np.array([[float(one) for one in point.split(",")] for point in rim.split("L")])
    east, south = points[len(points) // 2] - MIDDLE
    # Wind from the north-west: the middle of the rim lies to the south-east, 15 m off.
    aside = 15 * MAP_SIZE / 80 / np.sqrt(2)
    assert (east, south) == pytest.approx((aside, aside), abs=0.2)
    assert "wind NW 50%" in texts(svg)


def test_the_legend_names_what_is_drawn_and_nothing_else():
    full, bare = set(texts(drawn())), set(texts(drawn(around=Around(), shares=(0.0,) * 8)))
    assert {"food plot", "hazard", "boundary", "camera, where it looks"} <= full
    assert {"sanctuary, no entry", "scrape already there", "walk in to a stand"} <= full
    assert {"food plot", "hazard", "boundary", "stand", "route deer use"}.isdisjoint(bare)
    assert "scrape" in bare


def test_everything_stays_on_the_page():
    root = ElementTree.fromstring(drawn())
    _x, _y, width, height = (float(one) for one in root.get("viewBox").split())
    for element in root.iter():
        for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", element.get("d") or ""):
            assert -1 <= float(x) <= width + 1
            assert -1 <= float(y) <= height + 1


def test_a_dark_screen_turns_every_colour_and_paper_keeps_the_days():
    svg = drawn()
    used = set(re.findall(r"(?:fill|stroke)-([a-z-]+\d?)(?=[ \"])", svg)) - {"opacity", "rule"}
    dark = dict(re.findall(r"\.(?:fill|stroke)-([a-z-]+\d?)\{(?:fill|stroke):(#\w+)\}", svg))
    days = {colour.name: colour for colour in palette.ALL}
    for name in used & set(days):
        assert dark[name] == days[name].dark
        assert days[name].light in svg
    assert '<style media="screen">' in svg


@pytest.mark.parametrize("name", ["ink", "orange", "blue", "green", "muted"])
def test_marks_stand_out_from_their_ground(name):
    """3:1 for graphics (WCAG 2.2, 1.4.11), by day and by night."""
    colour = next(one for one in palette.ALL if one.name == name)
    assert palette.contrast(colour.light, palette.PAPER.light) >= 3
    assert palette.contrast(colour.dark, palette.PAPER.dark) >= 3


def test_the_same_place_gives_the_same_picture():
    assert drawn() == drawn()
    assert drawn() != drawn(azimuth=91.0)


def test_a_stand_amid_much_else_keeps_a_name():
    crowd = tuple(
        StandPlace(name=f"A stand with a long name {n}", place=(6.0 * n, 4.0 * n), shot_m=40)
        for n in range(1, 5)
    )
    shown = texts(drawn(around=replace(AROUND, stands=crowd)))
    assert sum(text.endswith(" m") and text.startswith("A st") for text in shown) >= 3

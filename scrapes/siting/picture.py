"""A small map of one place for a scrape: what it is judged by, to be checked by eye.

Nothing is told by colour alone: every kind has its own mark or line, and a legend names it.
"""

from collections.abc import Mapping
from typing import Final

from coop.printing.palette import BLUE, GREEN, INK, MUTED, ORANGE, RULE
from coop.printing.svg import Drawing, Point
from scrapes.siting import picture_marks as marks
from scrapes.siting.picture_map import SiteMap
from scrapes.siting.picture_place import MAP_SIZE, MARGIN, WIDTH, Kind, SitePicture
from scrapes.siting.picture_words import in_words

_ROW = 17.0


def _turned_east(drawing: Drawing, at: Point) -> None:
    marks.branch(drawing, (at[0] - 19, at[1]), 90.0)


_LEGEND: Final[Mapping[Kind, tuple[marks.Sample, str]]] = {
    Kind.SCRAPE: (marks.scrape, "scrape"),
    Kind.BRANCH: (_turned_east, "branch, base to tip"),
    Kind.STAND: (marks.stand, "stand"),
    Kind.SHOT: (marks.swatch(ORANGE, opacity=0.1, stroke=ORANGE, dash="5 3"), "stand's shot, arc"),
    Kind.CAMERA: (marks.camera, "camera, where it looks"),
    Kind.DOWNWIND: (marks.swatch(BLUE, opacity=0.14, stroke=BLUE), "downwind, often: broader"),
    Kind.ROUTE: (marks.stroke_sample(GREEN, width=2.6), "route deer use"),
    Kind.APPROACH: (marks.stroke_sample(MUTED, width=1.6, dash="1.5 3"), "walk in to a stand"),
    Kind.BOUNDARY: (marks.stroke_sample(INK, width=2.2, dash="9 3 2 3"), "boundary"),
    Kind.BEYOND: (marks.swatch(RULE, opacity=0.6), "beyond the boundary"),
    Kind.FOOD_PLOT: (marks.swatch(GREEN, opacity=0.18), "food plot"),
    Kind.SANCTUARY: (
        marks.swatch(MUTED, opacity=0.25, stroke=MUTED, dash="2 2"),
        "sanctuary, no entry",
    ),
    Kind.HAZARD: (marks.hazard, "hazard"),
    Kind.OTHER_SCRAPE: (marks.other_scrape, "scrape already there"),
}


def site_svg(shown: SitePicture) -> str:
    """The map as SVG markup, with its words inside; the same place gives the same bytes.

    The legend has a line for every kind that is on the map, and for no other.
    """
    drawing = Drawing(
        width=WIDTH,
        height=MAP_SIZE + 2 * MARGIN,
        title=f"Map of a place for a scrape on {shown.property_name}",
        words=in_words(shown),
    )
    kinds = SiteMap(shown, drawing).draw()
    legend = [entry for kind, entry in _LEGEND.items() if kind in kinds]
    drawing.height += MARGIN + _ROW * ((len(legend) + 1) // 2)
    for number, (sample, words) in enumerate(legend):
        x = MARGIN + (number % 2) * WIDTH / 2
        y = MAP_SIZE + 2.5 * MARGIN + _ROW * (number // 2 + 0.5)
        sample(drawing, (x + 12, y))
        drawing.text((x + 29, y + 4), words, fill=INK, size=10.5)
    return drawing.as_svg()

"""The marks of a scrape's map, the same on the map and in its legend."""

from collections.abc import Callable

import numpy as np

from coop.printing.palette import INK, MUTED, ORANGE, PANEL, PAPER, Colour
from coop.printing.svg import Drawing, Point

Sample = Callable[[Drawing, Point], None]


def scrape(drawing: Drawing, at: Point) -> None:
    drawing.circle(at, 7, fill=PAPER, stroke=INK, width=2.4)
    drawing.circle(at, 2.2, fill=INK)


def branch_tip(at: Point, azimuth_deg: float) -> Point:
    """Where the drawn branch ends; the place itself where it has no azimuth."""
    if np.isnan(azimuth_deg):
        return at
    turn = np.radians(azimuth_deg)
    return _pair(np.array(at) + 26 * np.array([np.sin(turn), -np.cos(turn)]))


def branch(drawing: Drawing, at: Point, azimuth_deg: float) -> None:
    turn = np.radians(azimuth_deg)
    ahead, across = np.array([np.sin(turn), -np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
    base, tip = np.array(at) + 7 * ahead, np.array(at) + 26 * ahead
    head = [tip + 7 * ahead, tip + 4.5 * across, tip - 4.5 * across]
    drawing.line([_pair(base), _pair(tip)], stroke=INK, width=3.2)
    drawing.area([[_pair(point) for point in head]], fill=INK)


def stand(drawing: Drawing, at: Point) -> None:
    x, y = at
    drawing.area([[(x, y - 7), (x + 7, y + 6), (x - 7, y + 6)]], fill=ORANGE, stroke=INK, width=1.4)


def camera(drawing: Drawing, at: Point) -> None:
    x, y = at
    body = [(x - 6, y - 4.5), (x + 6, y - 4.5), (x + 6, y + 4.5), (x - 6, y + 4.5)]
    drawing.area([body], fill=PANEL, stroke=INK, width=1.6)
    drawing.circle(at, 2, fill=INK)


def other_scrape(drawing: Drawing, at: Point) -> None:
    drawing.circle(at, 5, fill=PAPER, stroke=MUTED, width=1.6)


def hazard(drawing: Drawing, at: Point) -> None:
    x, y = at
    drawing.area([[(x, y - 6), (x + 6, y), (x, y + 6), (x - 6, y)]], fill=PAPER, stroke=ORANGE)
    drawing.line([(x - 3, y - 3), (x + 3, y + 3)], stroke=ORANGE, width=1.6)


def _pair(point: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Point:
    return float(point[0]), float(point[1])


def swatch(fill: Colour, *, opacity: float, stroke: Colour | None = None, dash: str = "") -> Sample:
    def draw(drawing: Drawing, at: Point) -> None:
        x, y = at
        box = [(x - 10, y - 5), (x + 10, y - 5), (x + 10, y + 5), (x - 10, y + 5)]
        drawing.area([box], fill=fill, opacity=opacity, stroke=stroke, dash=dash)

    return draw


def stroke_sample(colour: Colour, *, width: float, dash: str = "") -> Sample:
    def draw(drawing: Drawing, at: Point) -> None:
        x, y = at
        drawing.line([(x - 11, y), (x + 11, y)], stroke=colour, width=width, dash=dash)

    return draw

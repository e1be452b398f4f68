"""The map of one place for a scrape: metres of the ground become a drawing, north up."""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from coop.printing.palette import BLUE, GREEN, INK, MUTED, ORANGE, PAPER, RULE, Colour
from coop.printing.svg import Drawing, Point
from properties.land.units import METRES_PER_YARD
from properties.wind.sectors import SECTOR_NAMES
from scrapes.siting import picture_marks as marks
from scrapes.siting.picture_place import MAP_SIZE, MARGIN, Kind, SitePicture
from scrapes.siting.places import MappedPlace, Place

_ROUND_LENGTHS_M = (10, 20, 50, 100)
_ARROW = 24.0
_LONGEST_NAME = 24


class SiteMap:
    """The map itself; metres of the frame become the drawing's own."""

    def __init__(self, shown: SitePicture, drawing: Drawing) -> None:
        self.shown, self.drawing = shown, drawing
        self.half_m = shown.half_m()
        self.kinds: set[Kind] = set()
        east, north = shown.centre
        self.window = shapely.box(
            east - self.half_m, north - self.half_m, east + self.half_m, north + self.half_m
        )

    def draw(self) -> frozenset[Kind]:
        """Draw it; returns the kinds that are on it."""
        self._ground()
        self._shots()
        self._downwind()
        self._ways()
        self._frame()
        self._things()
        self._scrape()
        return frozenset(self.kinds)

    def at(self, place: Sequence[float]) -> Point:
        east, north = place[0] - self.shown.centre[0], place[1] - self.shown.centre[1]
        scale = MAP_SIZE / 2 / self.half_m
        middle = MARGIN + MAP_SIZE / 2
        return middle + float(east) * scale, middle - float(north) * scale

    def _ground(self) -> None:
        drawing, ground = self.drawing, self.shown.around.ground
        self._areas(None, self.window, fill=PAPER)
        if ground is None:
            return
        beyond = self.window.difference(ground.boundary)
        self._areas(Kind.BEYOND, beyond, fill=RULE, opacity=0.6)
        for plot in ground.food_plots:
            self._areas(Kind.FOOD_PLOT, plot.geometry, fill=GREEN, opacity=0.18)
        for sanctuary in ground.sanctuaries:
            self._areas(
                Kind.SANCTUARY,
                sanctuary.geometry,
                fill=MUTED,
                opacity=0.25,
                stroke=MUTED,
                dash="2 2",
            )
        for place in ground.hazards:
            self._areas(Kind.HAZARD, place.geometry, fill=ORANGE, opacity=0.35, stroke=ORANGE)
        for line in _lines(ground.boundary.boundary.intersection(self.window)):
            self.kinds.add(Kind.BOUNDARY)
            drawing.line(self._moved(line), stroke=INK, width=2.2, dash="9 3 2 3")

    def _shots(self) -> None:
        figures, shown = self.shown.figures, self.shown
        for stand in np.flatnonzero(figures.judged[shown.place]).tolist():
            it = shown.around.stands[stand]
            width = it.arc_width_deg
            turns = np.radians(it.arc_from_deg + np.linspace(0, width, 73))
            limit = figures.stand_limit_m[stand]
            rim = np.column_stack([np.sin(turns), np.cos(turns)]) * limit + it.place
            corners = [*rim] if width == 360 else [it.place, *rim]
            self._areas(
                Kind.SHOT,
                shapely.Polygon(corners),
                fill=ORANGE,
                opacity=0.1,
                stroke=ORANGE,
                width=1.3,
                dash="5 3",
            )

    def _downwind(self) -> None:
        reach, centre = self.shown.settings.downwind_check_m, np.array(self.shown.centre)
        for sector, share in enumerate(self.shown.wind_shares):
            if share < self.shown.settings.wind_share or share <= 0:
                continue
            self.kinds.add(Kind.DOWNWIND)
            middle = sector * 45.0 + 180
            turns = np.radians(middle + np.linspace(-22.5, 22.5, 13))
            rim = centre + reach * np.column_stack([np.sin(turns), np.cos(turns)])
            self.drawing.area(
                [[self.at(point) for point in (centre, *rim)]], fill=BLUE, opacity=0.14
            )
            self.drawing.line(
                [self.at(point) for point in rim], stroke=BLUE, width=2.5 + 10 * share
            )
            beyond = self.at(centre + (rim[6] - centre) * 1.12)
            words = f"wind {SECTOR_NAMES[sector]} {share:.0%}"
            self.drawing.label(beyond, words, fill=BLUE, size=9.5, gap=4.0)

    def _ways(self) -> None:
        for approach in self.shown.approaches:
            for line in _lines(shapely.LineString(approach).intersection(self.window)):
                self.kinds.add(Kind.APPROACH)
                self.drawing.line(self._moved(line), stroke=MUTED, width=1.6, dash="1.5 3")
        for route in self.shown.around.routes:
            for line in _lines(shapely.LineString(route.points).intersection(self.window)):
                self.kinds.add(Kind.ROUTE)
                points = self._moved(line)
                self.drawing.line(points, stroke=GREEN, width=2.6)

    def _frame(self) -> None:
        drawing, low, high = self.drawing, MARGIN, MARGIN + MAP_SIZE
        drawing.area([[(low, low), (high, low), (high, high), (low, high)]], stroke=RULE)
        x, y = high - 16, low + 10
        drawing.line([(x, y + _ARROW), (x, y + 6)], stroke=INK, width=1.8)
        drawing.area([[(x, y), (x - 5, y + 10), (x + 5, y + 10)]], fill=INK)
        drawing.text((x, y + _ARROW + 11), "N", fill=INK, anchor="middle")
        drawing.keep_clear((x - 10, y - 4, x + 10, y + _ARROW + 14))
        self._scale_bar(low + 8, high - 9)

    def _scale_bar(self, x: float, y: float) -> None:
        fitting = [length for length in _ROUND_LENGTHS_M if length <= self.half_m * 0.7]
        length = fitting[-1]
        end = x + length * MAP_SIZE / 2 / self.half_m
        for start, stop, colour in ((x, (x + end) / 2, INK), ((x + end) / 2, end, PAPER)):
            bar = [(start, y - 4), (stop, y - 4), (stop, y), (start, y)]
            self.drawing.area([bar], fill=colour, stroke=INK)
        yards = length / METRES_PER_YARD
        self.drawing.text((x, y - 9), f"{length} m ({yards:.0f} yd)", fill=INK, size=10.5)
        self.drawing.keep_clear((x - 4, y - 22, end + 4, y + 4))

    def _things(self) -> None:
        drawing, shown, figures = self.drawing, self.shown, self.shown.figures
        scrape = self.at(shown.centre)
        tip = marks.branch_tip(scrape, float(figures.azimuth_deg[shown.place]))
        for x, y in (scrape, tip):
            drawing.keep_clear((x - 14, y - 14, x + 14, y + 14))
        for index, stand in enumerate(shown.around.stands):
            if not self._shows(stand.place):
                continue
            self.kinds.add(Kind.STAND)
            seat = self.at(stand.place)
            judged = figures.judged[shown.place, index]
            if judged:
                drawing.line([scrape, seat], stroke=INK, width=0.8, dash="3 3")
            marks.stand(drawing, seat)
            away = f", {figures.stand_m[shown.place, index]:.0f} m" if judged else ""
            wordings = (f"{_short(stand.name, most)}{away}" for most in (_LONGEST_NAME, 10, 5))
            drawing.label(seat, *wordings, fill=INK)
        for index, camera in enumerate(shown.around.cameras):
            if self._shows(camera.place) and figures.camera_apart[shown.place, index]:
                self.kinds.add(Kind.CAMERA)
                if figures.watches[shown.place, index]:
                    self._look(camera.place)
                marks.camera(drawing, self.at(camera.place))
                drawing.label(self.at(camera.place), _short(camera.name), fill=INK)
        for other in shown.around.scrapes:
            place = (other.geometry.x, other.geometry.y)
            if self._shows(place) and np.hypot(*np.subtract(place, shown.centre)) >= 1:
                self.kinds.add(Kind.OTHER_SCRAPE)
                marks.other_scrape(drawing, self.at(place))
                drawing.label(self.at(place), _short(other.name), fill=MUTED)
        self._names()

    def _look(self, camera: Place) -> None:
        """A camera's look: two short rays about the line to the scrape."""
        start, end = np.array(self.at(camera)), np.array(self.at(self.shown.centre))
        ahead = np.arctan2(*(end - start)[::-1])
        for turn in (-0.35, 0.35):
            ray = start + 20 * np.array([np.cos(ahead + turn), np.sin(ahead + turn)])
            ends = [(float(x), float(y)) for x, y in (start, ray)]
            self.drawing.line(ends, stroke=INK, width=1.1)

    def _names(self) -> None:
        """Names of routes and of areas, once each."""
        named = {route.name: shapely.LineString(route.points) for route in self.shown.around.routes}
        ground = self.shown.around.ground
        mapped: Sequence[MappedPlace] = (*ground.sanctuaries, *ground.hazards) if ground else ()
        named |= {place.name: place.geometry for place in mapped}
        for name, geometry in named.items():
            inside = geometry.intersection(self.window.buffer(-0.12 * self.half_m))
            if inside.is_empty:
                continue
            along = [
                inside.interpolate(part, normalized=True)
                for part in (0.15, 0.85)
                if inside.geom_type == "LineString"
            ] or [inside.representative_point()]
            far = max(along, key=lambda point: point.distance(shapely.Point(self.shown.centre)))
            self.drawing.label(self.at((far.x, far.y)), _short(name), fill=INK, size=10.0, gap=6.0)

    def _scrape(self) -> None:
        place, azimuth = self.at(self.shown.centre), self.shown.figures.azimuth_deg
        self.kinds.add(Kind.SCRAPE)
        marks.scrape(self.drawing, place)
        if not np.isnan(azimuth[self.shown.place]):
            self.kinds.add(Kind.BRANCH)
            marks.branch(self.drawing, place, float(azimuth[self.shown.place]))

    def _areas(
        self,
        kind: Kind | None,
        geometry: BaseGeometry,
        *,
        fill: Colour,
        opacity: float = 1.0,
        stroke: Colour | None = None,
        width: float = 1.0,
        dash: str = "",
    ) -> None:
        for part in shapely.get_parts(geometry.intersection(self.window)):
            if kind is not None and not part.is_empty:
                self.kinds.add(kind)
            if part.geom_type == "Polygon":
                rings = [self._moved(ring) for ring in (part.exterior, *part.interiors)]
                self.drawing.area(rings, fill=fill, opacity=opacity)
                if stroke is not None:
                    edge = part.boundary.difference(self.window.boundary.buffer(0.01))
                    for line in _lines(edge):
                        self.drawing.line(self._moved(line), stroke=stroke, width=width, dash=dash)
            elif part.geom_type == "LineString":
                self.drawing.line(self._moved(part), stroke=stroke or fill, width=4.0, dash="2 3")
            elif part.geom_type == "Point":
                marks.hazard(self.drawing, self.at((part.x, part.y)))

    def _moved(self, line: BaseGeometry) -> list[Point]:
        return [self.at(vertex) for vertex in shapely.get_coordinates(line)]

    def _shows(self, place: Place) -> bool:
        return bool(self.window.contains(shapely.Point(place)))


def _short(name: str, most: int = _LONGEST_NAME) -> str:
    """A name that leaves room for others; the words of the map have it in full."""
    return name if len(name) <= most else f"{name[: most - 1].rstrip()}…"


def _lines(geometry: BaseGeometry) -> Iterator[BaseGeometry]:
    merged = shapely.line_merge(geometry) if geometry.geom_type == "MultiLineString" else geometry
    for part in shapely.get_parts(merged):
        if part.geom_type == "LineString" and not part.is_empty:
            yield part

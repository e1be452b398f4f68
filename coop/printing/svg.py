"""A small drawing as SVG: colours by day and by night, words that stand out from what they cross.

Colours of the day stand in the elements themselves, so that paper and simple viewers show them;
a style sheet inside turns them for a dark screen. Coordinates are the drawing's own, y downward.
"""

import html
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from coop.printing.palette import ALL, PAPER, Colour

Point = tuple[float, float]
Box = tuple[float, float, float, float]

_LETTER = 0.56
"""Mean width of a letter of a plain sans-serif face, as a part of its size (from memory)."""


@dataclass(kw_only=True)
class Drawing:
    """Elements in the order drawn; ``words`` stands in for the picture, ``title`` names it."""

    width: float
    height: float
    title: str
    words: str
    _elements: list[str] = field(default_factory=list)
    _labels: list[Box] = field(default_factory=list)

    def area(
        self,
        rings: Iterable[Sequence[Point]],
        *,
        fill: Colour | None = None,
        stroke: Colour | None = None,
        width: float = 1.0,
        dash: str = "",
        opacity: float = 1.0,
    ) -> None:
        """One area of an outline and its holes; ``opacity`` is that of its fill."""
        path = " ".join(f"M{_points(ring)}Z" for ring in rings)
        if path:
            painted = _painted(fill=fill, stroke=stroke, width=width, dash=dash)
            faint = f' fill-opacity="{opacity:g}"' if opacity < 1 else ""
            self._elements.append(f'<path d="{path}" fill-rule="evenodd"{painted}{faint}/>')

    def line(
        self, points: Sequence[Point], *, stroke: Colour, width: float = 1.0, dash: str = ""
    ) -> None:
        painted = _painted(stroke=stroke, width=width, dash=dash)
        joins = ' stroke-linecap="butt" stroke-linejoin="round"'
        self._elements.append(f'<path d="M{_points(points)}"{painted}{joins}/>')

    def circle(
        self,
        centre: Point,
        radius: float,
        *,
        fill: Colour | None = None,
        stroke: Colour | None = None,
        width: float = 1.0,
    ) -> None:
        x, y = centre
        painted = _painted(fill=fill, stroke=stroke, width=width)
        self._elements.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}"{painted}/>')

    def text(
        self, at: Point, words: str, *, fill: Colour, size: float = 11.0, anchor: str = "start"
    ) -> None:
        """Words with their base line at ``at``, edged in the colour of the ground."""
        x, y = at
        place = (
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}" '
            'font-family="sans-serif"'
        )
        # Twice, since not every renderer paints the edge below the letters.
        edged = _painted(fill=PAPER, stroke=PAPER, width=3.0)
        written = html.escape(words)
        self._elements.append(
            f'{place}{edged} stroke-linejoin="round" aria-hidden="true">{written}</text>'
        )
        self._elements.append(f"{place}{_painted(fill=fill)}>{written}</text>")
        self._labels.append(_box(at, words, size, anchor))

    def label(
        self, beside: Point, *wordings: str, fill: Colour, size: float = 11.0, gap: float = 9.0
    ) -> None:
        """Words beside a point, where they cover no other words and stay inside; else nowhere.

        The first wording that fits is written: right, left, below or above, then further off.
        """
        for words in wordings:
            for at, anchor in _beside(beside, size, gap):
                box = _box(at, words, size, anchor)
                if self._is_inside(box) and not any(_overlap(box, other) for other in self._labels):
                    self.text(at, words, fill=fill, size=size, anchor=anchor)
                    return

    def keep_clear(self, box: Box) -> None:
        """No label is put on this part (left, top, right, bottom)."""
        self._labels.append(box)

    def as_svg(self) -> str:
        """The markup, without a prologue, so that it also stands inside a page."""
        # A figure's own dark screen only: what is printed from one keeps the colours of the day.
        turned = "".join(
            f".fill-{colour.name}{{fill:{colour.dark}}}"
            f".stroke-{colour.name}{{stroke:{colour.dark}}}"
            for colour in ALL
        )
        ground = f'<rect width="{self.width:g}" height="{self.height:g}"{_painted(fill=PAPER)}/>'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {self.height:g}" '
            f'role="img"><title>{html.escape(self.title)}</title>'
            f"<desc>{html.escape(self.words)}</desc>"
            f'<style media="screen">@media (prefers-color-scheme: dark){{{turned}}}</style>'
            f"{ground}{''.join(self._elements)}</svg>"
        )

    def _is_inside(self, box: Box) -> bool:
        left, top, right, bottom = box
        return left >= 0 and top >= 0 and right <= self.width and bottom <= self.height


def _beside(point: Point, size: float, gap: float) -> Iterator[tuple[Point, str]]:
    x, y = point
    for away in (gap, 2 * gap, 3.5 * gap):
        yield (x + away, y + size / 3), "start"
        yield (x - away, y + size / 3), "end"
        yield (x, y + away + size * 0.8), "middle"
        yield (x, y - away), "middle"


def _points(points: Sequence[Point]) -> str:
    return "L".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _painted(
    *,
    fill: Colour | None = None,
    stroke: Colour | None = None,
    width: float = 1.0,
    dash: str = "",
) -> str:
    classes = [
        *([f"fill-{fill.name}"] if fill else []),
        *([f"stroke-{stroke.name}"] if stroke else []),
    ]
    named = f' class="{" ".join(classes)}"' if classes else ""
    filled = f' fill="{fill.light if fill else "none"}"'
    if stroke is None:
        return f"{named}{filled}"
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'{named}{filled} stroke="{stroke.light}" stroke-width="{width:g}"{dashed}'


def _box(at: Point, words: str, size: float, anchor: str) -> Box:
    (x, y), length = at, _LETTER * size * len(words)
    left = x - {"start": 0.0, "middle": length / 2, "end": length}[anchor]
    return (left, y - size, left + length, y + size * 0.3)


def _overlap(first: Box, second: Box) -> bool:
    return (
        first[0] < second[2]
        and second[0] < first[2]
        and first[1] < second[3]
        and second[1] < first[3]
    )

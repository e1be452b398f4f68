"""From a drawn figure to an SVG that sits inside a page: same figures, same bytes.

Only matplotlib's object interface is used; pyplot keeps figures of its own alive.
"""

import base64
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from coop.printing.palette import ALL, INK

WIDTH_IN = 3.6
SMALL = 8.0

_IDENTIFIER = re.compile(r'(\bid="|url\(#|href="#)')
_OPENING = re.compile(r"^.*?<svg [^>]*?viewBox=\"(?P<box>[^\"]+)\"[^>]*>", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)


@dataclass(frozen=True, kw_only=True)
class Picture:
    """An SVG with the words that stand in for it, and a caption under it."""

    name: str
    svg: str
    alt: str
    caption: str

    @property
    def themed(self) -> str:
        """The SVG with its colours as CSS variables, so that the page's dark ground suits it."""
        themed = self.svg
        for colour in ALL:
            themed = themed.replace(colour.light, f"var(--{colour.name})")
        return themed

    @property
    def image(self) -> str:
        """The SVG as a ``data:`` address, for paper, where it is an image with its alt text."""
        encoded = base64.b64encode(self.svg.encode()).decode()
        return f"data:image/svg+xml;base64,{encoded}"


def new_figure(height_in: float, *, width_in: float = WIDTH_IN) -> Figure:
    """An empty figure of so many inches, without a ground of its own."""
    figure = Figure(figsize=(width_in, height_in))
    figure.patch.set_visible(False)
    return figure


def legend_below(
    axes: Axes, handles: Sequence[Patch], *, columns: int, column_spacing: float | None = None
) -> None:
    """A legend under the left corner of ``axes``; ``column_spacing`` in letters, None as usual."""
    axes.legend(
        handles=handles,
        loc="upper left",
        bbox_to_anchor=(-0.01, 0.0),
        ncols=columns,
        frameon=False,
        fontsize=SMALL,
        labelcolor=INK.light,
        handlelength=1.1,
        handleheight=0.8,
        columnspacing=column_spacing,
        borderaxespad=0.2,
    )


def to_svg(figure: Figure, *, name: str) -> str:
    """The figure as SVG markup without prologue, its ids unique to ``name``, no date inside."""
    out = io.StringIO()
    style: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": name,
        "font.family": "sans-serif",
        "font.size": 9,
    }
    with mpl.rc_context(style):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    svg = _METADATA.sub("", out.getvalue())
    svg = _IDENTIFIER.sub(rf"\g<1>{name}-", svg)
    opening = (
        r'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        r'viewBox="\g<box>" aria-hidden="true" focusable="false">'
    )
    return _OPENING.sub(opening, svg, count=1).strip()

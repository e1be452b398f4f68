"""A stand's season as a picture: fit by sector and speed, north up.

Only matplotlib's object interface is used; pyplot keeps figures of its own alive. Shades
run from dark to light in one hue order that every kind of colour vision can follow, and
each cell carries its number of sessions, so that nothing is told by colour alone.
"""

import html
import io
import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.projections.polar import PolarAxes

from properties.wind.sectors import SECTOR_NAMES

_SIZE_IN: Final = (5.2, 4.4)
_INNER: Final = 0.6
_SHADES: Final = "cividis"
_OPENING = re.compile(r"^.*?<svg [^>]*?viewBox=\"(?P<box>[^\"]+)\"[^>]*>", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)


def stand_picture(
    *, name: str, season: str, rows: Sequence[Mapping[str, Any]], speed_edges_mps: Sequence[float]
) -> str:
    """SVG of one stand's table, ``rows`` as :meth:`StandHistory.as_dict` writes them.

    Sectors lie where the wind blows *from*, rings are speed classes from the middle out;
    calm is left out of the rings and told in words. The same table gives the same bytes.
    """
    by_sector = {row["sector"]: row for row in rows}
    fits = np.array([[_fit(cell) for cell in by_sector[each]["cells"]] for each in SECTOR_NAMES])
    counts = [[cell["sessions"] for cell in by_sector[each]["cells"]] for each in SECTOR_NAMES]
    figure = Figure(figsize=_SIZE_IN, layout="constrained")
    axes = figure.add_subplot(projection="polar")
    assert isinstance(axes, PolarAxes)
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    classes = fits.shape[1]
    rings = _INNER + np.arange(classes + 1)
    shades = mpl.colormaps[_SHADES]
    for sector, ring in np.argwhere(np.isfinite(fits)):
        _draw_cell(axes, sector, rings[ring], shades(fits[sector, ring]), counts[sector][ring])
    axes.set_xticks(np.deg2rad(np.arange(8) * 45.0), SECTOR_NAMES)
    axes.set_yticks(rings[1:-1], [f"{edge:g} m/s" for edge in speed_edges_mps], fontsize=6)
    axes.set_rlabel_position(22.5)
    for label in axes.get_yticklabels():
        label.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 0.6})
    axes.set_ylim(0, rings[-1])
    axes.grid(visible=False)
    axes.set_title(f"{name}, {season}", fontsize=10, parse_math=False)
    figure.colorbar(
        ScalarMappable(norm=Normalize(0, 1), cmap=shades),
        ax=axes,
        shrink=0.7,
        pad=0.1,
        label="mean fit (figures: sessions)",
    )
    return as_svg(figure, title=f"{name}, {season}", words=in_words(name=name, rows=rows))


def _draw_cell(axes: PolarAxes, sector: int, inner: float, shade: Any, sessions: int) -> None:
    bearing = np.deg2rad(sector * 45.0)
    axes.bar(
        bearing, 1.0, width=np.pi / 4.0, bottom=inner, color=shade, edgecolor="white", linewidth=0.8
    )
    axes.text(
        bearing,
        inner + 0.5,
        str(sessions),
        ha="center",
        va="center",
        fontsize=7,
        color="black" if _is_light(shade) else "white",
    )


def _is_light(shade: Any) -> bool:
    """Whether black stands out better than white: relative luminance above 0.18 (WCAG 2.2)."""
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in shade[:3]
    )
    return bool(0.2126 * red + 0.7152 * green + 0.0722 * blue > 0.18)


def in_words(*, name: str, rows: Sequence[Mapping[str, Any]]) -> str:
    """The picture for whoever cannot see it: sessions and huntable share of each sector."""
    told = [
        f"{row['sector']} {sum(cell['sessions'] for cell in row['cells'])} sessions, "
        f"{100 * row['huntable_share']:.0f} % huntable"
        for row in rows
        if row["huntable_share"] is not None
    ]
    if not told:
        return f"{name}: no session with a known wind."
    return f"{name}, by the sector the wind blew from: {'; '.join(told)}."


def _fit(cell: Mapping[str, Any]) -> float:
    return np.nan if cell["mean_fit"] is None else float(cell["mean_fit"])


def as_svg(figure: Figure, *, title: str, words: str) -> str:
    """The figure as SVG with a title and its words inside; the same figure, the same bytes."""
    out = io.StringIO()
    style: dict[Any, Any] = {"svg.fonttype": "none", "svg.hashsalt": title}
    with mpl.rc_context(style):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    opening = (
        r'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        r'viewBox="\g<box>" role="img">'
    )
    svg = _OPENING.sub(opening, _METADATA.sub("", out.getvalue()), count=1).strip()
    head, body = svg.split(">", 1)
    said = f"<title>{html.escape(title)}</title><desc>{html.escape(words)}</desc>"
    return f"{head}>{said}{body}"

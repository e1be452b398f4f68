"""The pictures of the managers' appendix: visits against expected, wind beside sits per wind."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.projections.polar import PolarAxes

from coop.printing.palette import BLUE, INK, MUTED, ORANGE, PAPER, RULE, STEPS
from coop.reports import alt_texts
from coop.reports.appendix import WindMonth
from coop.reports.drawing import SMALL, Picture, new_figure, to_svg
from coop.reports.figures import MonthFigures
from coop.reports.rows import ScrapeMonth


def appendix_pictures(figures: MonthFigures) -> tuple[Picture, ...]:
    return (visits_against_expected(figures), wind_and_sits(figures))


def visits_against_expected(figures: MonthFigures) -> Picture:
    """One line a scrape: the count with its exact limits, and what was expected."""
    scrapes = figures.appendix.scrapes
    height = 0.95 + 0.5 * max(len(scrapes), 1)
    figure = new_figure(height)
    axes = figure.add_axes((0.02, 0.62 / height, 0.96, 1 - 0.70 / height))
    _draw_scrapes(axes, scrapes)
    axes.legend(
        handles=[
            Line2D([], [], color=BLUE.light, marker="o", label=alt_texts.counted_label(figures)),
            Line2D(
                [],
                [],
                color="none",
                marker="D",
                markeredgecolor=ORANGE.light,
                markerfacecolor=PAPER.light,
                label=alt_texts.expected_label(),
            ),
        ],
        loc="upper left",
        bbox_to_anchor=(-0.01, -0.30 / height),
        ncols=2,
        frameon=False,
        fontsize=SMALL,
        labelcolor=INK.light,
    )
    return Picture(
        name="visits",
        svg=to_svg(figure, name="visits"),
        alt=alt_texts.visits(figures),
        caption=alt_texts.visits_caption(figures),
    )


def _draw_scrapes(axes: Axes, scrapes: tuple[ScrapeMonth, ...]) -> None:
    watched = [one.whole for one in scrapes if one.whole.expected is not None]
    bands = [one.expected_high or 0 for one in scrapes]
    right = max([1.0, *(max(one.high, one.expected or 0) for one in watched), *bands]) * 1.05
    axes.set_xlim(-0.01 * right, right)
    axes.set_ylim(max(len(scrapes), 1) - 0.4, -0.55)
    axes.patch.set_visible(False)
    axes.yaxis.set_visible(False)
    for side in ("left", "top", "right"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(RULE.light)
    axes.tick_params(axis="x", colors=MUTED.light, labelsize=SMALL, length=3)
    for row, one in enumerate(scrapes):
        axes.text(0, row - 0.26, one.name, size=SMALL, color=INK.light, va="center")
        if one.whole.expected is None:
            axes.text(
                0, row + 0.08, alt_texts.not_watched(), size=SMALL, color=MUTED.light, va="center"
            )
            continue
        y = row + 0.10
        axes.plot([one.whole.low, one.whole.high], [y, y], color=BLUE.light, linewidth=1.6)
        axes.plot([one.whole.visits], [y], marker="o", markersize=5.5, color=BLUE.light)
        below = y + 0.22
        band = [one.expected_low or 0, one.expected_high or 0]
        axes.plot(band, [below, below], color=ORANGE.light, linewidth=0.9)
        axes.plot(
            [one.whole.expected],
            [below],
            marker="D",
            markersize=5.5,
            markerfacecolor=PAPER.light,
            markeredgecolor=ORANGE.light,
            markeredgewidth=1.5,
        )
    if not scrapes:
        axes.text(0, 0, alt_texts.no_scrapes(), size=9, color=MUTED.light, va="center")


def wind_and_sits(figures: MonthFigures) -> Picture:
    """The month's wind by sector and speed, and beside it the sits by observed wind."""
    wind = figures.appendix.wind
    figure = new_figure(2.55)
    rose = figure.add_axes((0.06, 0.26, 0.36, 0.56), projection="polar")
    sits = figure.add_axes((0.58, 0.26, 0.36, 0.56), projection="polar")
    assert isinstance(rose, PolarAxes)
    assert isinstance(sits, PolarAxes)
    _compass(rose, alt_texts.wind_title())
    _compass(sits, alt_texts.sits_title())
    _draw_rose(rose, wind)
    _draw_sits(sits, wind)
    figure.legend(
        handles=[
            Patch(facecolor=colour.light, edgecolor=INK.light, linewidth=0.4, label=label)
            for colour, label in zip(STEPS, alt_texts.speed_labels(figures), strict=True)
        ],
        loc="lower left",
        bbox_to_anchor=(-0.02, -0.02),
        ncols=3,
        frameon=False,
        fontsize=SMALL,
        labelcolor=INK.light,
        handlelength=1.0,
        columnspacing=1.0,
    )
    return Picture(
        name="wind",
        svg=to_svg(figure, name="wind"),
        alt=alt_texts.wind(figures),
        caption=alt_texts.wind_caption(figures),
    )


def _compass(axes: PolarAxes, title: str) -> None:
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    axes.set_xticks(np.arange(8) * np.pi / 4)
    axes.set_xticklabels(alt_texts.compass_points(), fontsize=SMALL, color=INK.light)
    axes.tick_params(axis="x", pad=-1)
    axes.patch.set_visible(False)
    axes.grid(color=RULE.light, linewidth=0.6)
    axes.spines["polar"].set_color(RULE.light)
    axes.set_title(title, fontsize=9, color=INK.light, pad=10)


def _draw_rose(axes: PolarAxes, wind: WindMonth) -> None:
    hours = np.array(wind.hours, dtype=float)
    angle = np.arange(len(wind.sectors)) * 2 * np.pi / len(wind.sectors)
    base = np.zeros(len(wind.sectors))
    for speed_class, colour in zip(range(hours.shape[1]), STEPS, strict=True):
        axes.bar(
            angle,
            hours[:, speed_class],
            width=0.66,
            bottom=base,
            color=colour.light,
            edgecolor=INK.light,
            linewidth=0.4,
        )
        base += hours[:, speed_class]
    _rings(axes, float(base.max()))


def _draw_sits(axes: PolarAxes, wind: WindMonth) -> None:
    sits = np.array(wind.sits, dtype=float)
    angle = np.arange(len(sits)) * 2 * np.pi / len(sits)
    axes.bar(angle, sits, width=0.66, color=ORANGE.light, edgecolor=INK.light, linewidth=0.4)
    _rings(axes, float(sits.max()))


def _rings(axes: PolarAxes, longest: float) -> None:
    """Two rings with whole numbers, drawn where bars seldom stand."""
    top = max(2.0, longest)
    rings = sorted({round(top / 2), round(top)})
    axes.set_ylim(0, top * 1.05)
    axes.set_yticks(rings)
    axes.set_yticklabels([str(ring) for ring in rings], fontsize=7, color=MUTED.light)
    axes.set_rlabel_position(22.5)

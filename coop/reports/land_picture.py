"""The small plan of the property: boundary, food plots, water, work done; north is up."""

from matplotlib.axes import Axes
from matplotlib.patches import Polygon

from coop.printing.palette import BLUE, GREEN, INK, MUTED, ORANGE, PANEL, PAPER, WATER, Colour
from coop.reports import alt_texts
from coop.reports.drawing import SMALL, WIDTH_IN, Picture, new_figure, to_svg
from coop.reports.figures import MonthFigures
from coop.reports.ground_plan import GroundPlan, PlanArea, Ring
from coop.reports.labels import Box, place_names
from properties.land.units import METRES_PER_FOOT

HEIGHT_IN = 2.7
# Shares of the picture that the plan takes, and the empty rim around it.
WIDE, TALL, MARGIN = 0.98, 0.89, 0.03
# A letter's width as a share of its size, a little more than most fonts need.
LETTER = 0.62
_METRES_PER_MILE = 5280 * METRES_PER_FOOT


def land_plan(figures: MonthFigures) -> Picture:
    """Boundary, food plots, water and work done; north is up."""
    plan = figures.plan
    span = max(plan.width_m, plan.height_m, 1)
    figure = new_figure(HEIGHT_IN)
    axes = figure.add_axes((0.01, 0.10, WIDE, TALL))
    axes.set_aspect("equal")
    axes.axis("off")
    axes.set_xlim(-MARGIN * span, plan.width_m + MARGIN * span)
    axes.set_ylim(-MARGIN * span, plan.height_m + MARGIN * span)
    for ring in plan.boundary:
        _draw_ring(axes, ring, fill=PANEL, edge=INK, width=1.4)
    for area in plan.areas:
        _draw_area(axes, area)
    _name_areas(axes, plan, points_per_m=_points_per_m(plan, span))
    _draw_scale(axes, plan, metric=figures.units == "metric")
    return Picture(
        name="land",
        svg=to_svg(figure, name="land"),
        alt=alt_texts.plan(figures),
        caption=alt_texts.plan_caption(figures),
    )


def _draw_area(axes: Axes, area: PlanArea) -> None:
    fill, edge = (WATER, BLUE) if area.kind == "water" else (PAPER, GREEN)
    for outline in area.outlines:
        if len(outline) < 4 or outline[0] != outline[-1]:
            axes.plot(*zip(*outline, strict=True), color=edge.light, linewidth=1.6)
            continue
        _draw_ring(axes, outline, fill=fill, edge=edge, width=1.0)
    if area.outlines and area.worked_on:
        easts, norths = zip(*area.outlines[0], strict=True)
        east, north = (min(easts) + max(easts)) / 2, (min(norths) + max(norths)) / 2
        axes.plot(
            [east],
            [north],
            marker="X",
            markersize=9,
            color=ORANGE.light,
            markeredgecolor=PAPER.light,
        )


def _points_per_m(plan: GroundPlan, span: float) -> float:
    """The scale at which the plan is drawn, in points (1/72 inch) to the metre."""
    wide = WIDE * WIDTH_IN * 72 / (plan.width_m + 2 * MARGIN * span)
    tall = TALL * HEIGHT_IN * 72 / (plan.height_m + 2 * MARGIN * span)
    return min(wide, tall)


def _name_areas(axes: Axes, plan: GroundPlan, *, points_per_m: float) -> None:
    areas = [area for area in plan.areas if area.outlines]
    height = SMALL / points_per_m
    boxes = place_names(
        [_box_of(area) for area in areas],
        [(len(area.name) * LETTER * height, height) for area in areas],
        within=Box(left=0, low=0, right=plan.width_m, high=plan.height_m),
        gap=0.35 * height,
    )
    for area, box in zip(areas, boxes, strict=True):
        axes.text(
            (box.left + box.right) / 2,
            (box.low + box.high) / 2,
            area.name,
            ha="center",
            va="center",
            size=SMALL,
            color=INK.light,
        )


def _box_of(area: PlanArea) -> Box:
    easts, norths = zip(*(place for ring in area.outlines for place in ring), strict=True)
    return Box(left=min(easts), low=min(norths), right=max(easts), high=max(norths))


def _draw_ring(axes: Axes, ring: Ring, *, fill: Colour, edge: Colour, width: float) -> None:
    axes.add_patch(
        Polygon(ring, closed=True, facecolor=fill.light, edgecolor=edge.light, linewidth=width)
    )


def _draw_scale(axes: Axes, plan: GroundPlan, *, metric: bool) -> None:
    """A bar of a round length, and north."""
    span = max(plan.width_m, plan.height_m, 1)
    unit, name = (1000.0, "km") if metric else (_METRES_PER_MILE, "mile")
    fractions = (2.0, 1.0, 0.5, 0.25, 0.1, 0.05, 0.02, 0.01)
    length = next((part for part in fractions if part * unit <= 0.4 * span), fractions[-1])
    below = axes.get_ylim()[0]
    axes.plot(
        [0, length * unit],
        [below, below],
        color=INK.light,
        linewidth=2.2,
        clip_on=False,
        solid_capstyle="butt",
    )
    axes.annotate(
        f"{length:g} {name}",
        (0, below),
        xytext=(0, -4),
        textcoords="offset points",
        ha="left",
        va="top",
        size=SMALL,
        color=INK.light,
        annotation_clip=False,
    )
    axes.annotate(
        alt_texts.north_is_up(),
        (plan.width_m, below),
        xytext=(0, -4),
        textcoords="offset points",
        ha="right",
        va="top",
        size=SMALL,
        color=MUTED.light,
        annotation_clip=False,
    )

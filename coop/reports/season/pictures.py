"""The two pictures of a season: deer against each property's plan, and sits by month."""

from matplotlib.axes import Axes
from matplotlib.patches import Patch, Rectangle

from coop.printing.palette import BLUE, INK, MUTED, ORANGE
from coop.reports import wording
from coop.reports.drawing import SMALL, Picture, legend_below, new_figure, to_svg
from coop.reports.season import alt_texts
from coop.reports.season.figures import ClassSeason, SeasonFigures, SeasonMonth


def season_pictures(figures: SeasonFigures) -> tuple[Picture, ...]:
    return deer_against_plans(figures), sits_by_month(figures)


def deer_against_plans(figures: SeasonFigures) -> Picture:
    """One bar for each property and class, and its plan as a mark."""
    rows = [(land.name, one) for land in figures.properties for one in land.classes]
    below = 0.27 if rows else 0.0
    height = below + 0.46 * max(len(rows), 1)
    figure = new_figure(height)
    axes = figure.add_axes((0.02, below / height, 0.96, 1 - below / height))
    longest = max([1, *(max(one.taken, one.planned or 0) for _name, one in rows)])
    axes.set_xlim(0, longest * 1.06)
    axes.set_ylim(max(len(rows), 1), 0)
    axes.axis("off")
    for top, (name, one) in enumerate(rows):
        _draw_class(axes, name, one, top=top)
    if rows:
        _legend(axes, has_plan=any(one.planned is not None for _name, one in rows))
    else:
        axes.text(0, 0.5, alt_texts.no_deer(), size=9, color=MUTED.light, va="center")
    return Picture(
        name="deer",
        svg=to_svg(figure, name="deer"),
        alt=alt_texts.deer(figures),
        caption=alt_texts.deer_caption(figures),
    )


def _draw_class(axes: Axes, name: str, one: ClassSeason, *, top: float) -> None:
    label = alt_texts.class_line(name, one)
    axes.text(0, top + 0.22, label, size=9, color=INK.light, va="center")
    if one.taken:
        axes.add_patch(Rectangle((0, top + 0.46), one.taken, 0.34, facecolor=BLUE.light))
    if one.planned is not None:
        axes.plot(
            [one.planned, one.planned],
            [top + 0.40, top + 0.86],
            color=ORANGE.light,
            linewidth=2.6,
            solid_capstyle="butt",
        )


def _legend(axes: Axes, *, has_plan: bool) -> None:
    handles = [Patch(facecolor=BLUE.light, label=alt_texts.taken_label())]
    if has_plan:
        handles.append(Patch(facecolor=ORANGE.light, label=alt_texts.plan_label()))
    legend_below(axes, handles, columns=2)


def sits_by_month(figures: SeasonFigures) -> Picture:
    """A column for each month with its number of sits above it."""
    figure = new_figure(1.6)
    axes = figure.add_axes((0.02, 0.02, 0.96, 0.96))
    most = max([1, *(month.sits for month in figures.months)])
    axes.set_xlim(0, len(figures.months))
    axes.set_ylim(-0.18 * most, 1.16 * most)
    axes.axis("off")
    for column, month in enumerate(figures.months):
        _draw_month(axes, month, left=column, most=most)
    return Picture(
        name="months",
        svg=to_svg(figure, name="months"),
        alt=alt_texts.months(figures),
        caption=alt_texts.months_caption(),
    )


def _draw_month(axes: Axes, month: SeasonMonth, *, left: float, most: int) -> None:
    centre = left + 0.5
    axes.text(
        centre,
        -0.1 * most,
        wording.month_short(month.month),
        size=SMALL,
        color=MUTED.light,
        ha="center",
        va="center",
    )
    if not month.sits:
        return
    axes.add_patch(Rectangle((left + 0.14, 0), 0.72, month.sits, facecolor=BLUE.light))
    axes.text(
        centre,
        month.sits + 0.07 * most,
        str(month.sits),
        size=SMALL,
        color=INK.light,
        ha="center",
        va="center",
    )

"""The pictures of the landowner's page: sits on a calendar, harvest, and the land itself."""

from datetime import date

from matplotlib.axes import Axes
from matplotlib.patches import Patch, Rectangle

from coop.printing.palette import (
    BLUE,
    INK,
    MUTED,
    ORANGE,
    PALE,
    PANEL,
    PAPER,
    RULE,
)
from coop.reports import alt_texts
from coop.reports.drawing import SMALL, Picture, legend_below, new_figure, to_svg
from coop.reports.figures import ClassTaken, MonthFigures
from coop.reports.land_picture import land_plan
from coop.reports.presence import CalendarDay


def page_pictures(figures: MonthFigures) -> tuple[Picture, ...]:
    """The pictures of the page, in order."""
    return (sits_calendar(figures), harvest_against_plan(figures), land_plan(figures))


def sits_calendar(figures: MonthFigures) -> Picture:
    """Each day is two halves, morning above evening, with the number of hunters in each."""
    days = figures.calendar
    first_column = _column(days[0].on)
    weeks = (first_column + len(days) - 1) // 7 + 1
    figure = new_figure(0.28 + 0.40 * weeks)
    axes = figure.add_axes((0.01, 0.01, 0.98, 0.98))
    _bare(axes, width=7, height=weeks + 0.55)
    for column, name in enumerate(alt_texts.weekday_names()):
        axes.text(column + 0.5, 0.28, name, ha="center", va="center", size=SMALL, color=MUTED.light)
    for index, day in enumerate(days):
        week, column = divmod(first_column + index, 7)
        _draw_day(axes, day, left=column, top=week + 0.55)
    return Picture(
        name="calendar",
        svg=to_svg(figure, name="calendar"),
        alt=alt_texts.calendar(figures),
        caption=alt_texts.calendar_caption(figures),
    )


def _draw_day(axes: Axes, day: CalendarDay, *, left: float, top: float) -> None:
    ground = PANEL if day.known else PAPER
    hatch = None if day.open else "////"
    axes.add_patch(
        Rectangle(
            (left + 0.03, top + 0.03),
            0.94,
            0.94,
            linewidth=0.7,
            facecolor=ground.light,
            edgecolor=RULE.light,
            hatch=hatch,
        )
    )
    axes.text(left + 0.09, top + 0.25, str(day.on.day), size=SMALL, color=MUTED.light, va="center")
    for count, offset in ((day.morning, 0.08), (day.evening, 0.52)):
        if count:
            _draw_count(axes, count, left=left + 0.42, top=top + offset)


def _draw_count(axes: Axes, count: int, *, left: float, top: float) -> None:
    strong = count >= 3
    axes.add_patch(
        Rectangle(
            (left, top),
            0.48,
            0.39,
            facecolor=(BLUE if strong else PALE).light,
            edgecolor=BLUE.light,
            linewidth=0.6,
        )
    )
    axes.text(
        left + 0.24,
        top + 0.20,
        str(count),
        size=SMALL,
        ha="center",
        va="center",
        color=(PAPER if strong else INK).light,
    )


def harvest_against_plan(figures: MonthFigures) -> Picture:
    """One bar a class: the season before this month, this month, and the plan as a mark."""
    classes = figures.deer.classes
    rows = max(len(classes), 1)
    below = 0.27 if classes else 0.0
    height = below + 0.46 * rows
    figure = new_figure(height)
    axes = figure.add_axes((0.02, below / height, 0.96, 1 - below / height))
    longest = max([1, *(max(one.in_season, one.planned or 0) for one in classes)])
    _bare(axes, width=longest * 1.06, height=rows)
    for row, one in enumerate(classes):
        _draw_class(axes, one, top=row)
    if not classes:
        axes.text(0, 0.5, alt_texts.no_plan_and_no_deer(), size=9, color=MUTED.light, va="center")
    else:
        _harvest_legend(axes, classes)
    return Picture(
        name="harvest",
        svg=to_svg(figure, name="harvest"),
        alt=alt_texts.harvest(figures),
        caption=alt_texts.harvest_caption(figures),
    )


def _harvest_legend(axes: Axes, classes: tuple[ClassTaken, ...]) -> None:
    """Only what is drawn is explained."""
    signs = (
        (
            PALE,
            BLUE,
            alt_texts.earlier_label(),
            any(one.in_season > one.in_month for one in classes),
        ),
        (BLUE, BLUE, alt_texts.this_month_label(), any(one.in_month for one in classes)),
        (ORANGE, ORANGE, alt_texts.plan_label(), any(one.planned is not None for one in classes)),
    )
    handles = [
        Patch(facecolor=fill.light, edgecolor=edge.light, label=label)
        for fill, edge, label, is_drawn in signs
        if is_drawn
    ]
    legend_below(axes, handles, columns=3, column_spacing=1.2)


def _draw_class(axes: Axes, one: ClassTaken, *, top: float) -> None:
    earlier = one.in_season - one.in_month
    axes.text(
        0,
        top + 0.22,
        alt_texts.class_line(one),
        size=9,
        color=INK.light,
        va="center",
    )
    for start, length, colour in ((0, earlier, PALE), (earlier, one.in_month, BLUE)):
        if not length:
            continue  # a bar of no length would leave its edge
        axes.add_patch(
            Rectangle(
                (start, top + 0.46),
                length,
                0.34,
                facecolor=colour.light,
                edgecolor=BLUE.light,
                linewidth=0.6,
            )
        )
    if one.planned is not None:
        axes.plot(
            [one.planned, one.planned],
            [top + 0.40, top + 0.86],
            color=ORANGE.light,
            linewidth=2.6,
            solid_capstyle="butt",
        )


def _bare(axes: Axes, *, width: float, height: float) -> None:
    """Axes without frame whose origin is the upper left corner."""
    axes.set_xlim(0, width)
    axes.set_ylim(height, 0)
    axes.axis("off")


def _column(on: date) -> int:
    """Column of a date in a week that begins on Sunday, as calendars in the US do."""
    return (on.weekday() + 1) % 7

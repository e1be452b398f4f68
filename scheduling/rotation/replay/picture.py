"""The replayed seasons as a picture: every season a small mark, their mean a large one."""

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from properties.wind.history_picture import as_svg

from .figures import Figures, spread
from .play import NAMES, Way
from .pressure import ASSUMPTIONS

Results = Mapping[Way, Sequence[Figures]]
Value = Callable[[Figures], float]

TITLE: Final = "Invented seasons, handed out in four ways"
_PANELS: Final[tuple[tuple[str, Value], ...]] = (
    ("sits served, % of those asked for", lambda one: 100 * one.served / one.asked),
    ("sits on a wind already used, %", lambda one: 100 * one.on_used_wind),
    ("average fit", lambda one: one.average_fit),
    ("Gini of fit for each sit asked", lambda one: one.gini),
    ("worst served: % of their sits", lambda one: 100 * one.worst_sits),
    ("worst served: fit for each sit asked", lambda one: one.worst_quality),
)
# Shape and height tell the ways apart; colour only helps (Okabe and Ito's set).
_MARKS: Final = {
    Way.BOARD: ("s", "#000000"),
    Way.FIRST_COME: ("D", "#d55e00"),
    Way.ROTATION: ("o", "#0072b2"),
    Way.ROTATION_ANY_WIND: ("^", "#009e73"),
}


def picture(results: Results) -> str:
    """SVG of the figures of each way, with their means in words for whoever cannot see it."""
    figure = Figure(figsize=(9.0, 9.6), layout="constrained")
    places = figure.add_gridspec(4, 6, height_ratios=(1, 1, 0.05, 2.2))
    for number, (label, value) in enumerate(_PANELS):
        row, column = divmod(number, 3)
        axes = figure.add_subplot(places[row, 2 * column : 2 * column + 2])
        _panel(axes, results, label, value, named=column == 0)
    season = figure.add_subplot(places[3, :3])
    a_sit = figure.add_subplot(places[3, 3:], sharey=season)
    _deer(season, results, "deer met in the season", lambda one, name: one.deer[name])
    _deer(a_sit, results, "deer met a sit", lambda one, name: one.deer_a_sit(name))
    a_sit.tick_params(labelleft=False)
    season.set_yticks(range(len(ASSUMPTIONS)), [f"deer {one.name}" for one in ASSUMPTIONS])
    season.invert_yaxis()
    handles, names = season.get_legend_handles_labels()
    figure.legend(handles, names, loc="outside lower center", ncols=2, fontsize=8, frameon=False)
    figure.suptitle(TITLE, fontsize=11)
    return as_svg(figure, title=TITLE, words=in_words(results))


def _panel(axes: Axes, results: Results, label: str, value: Value, *, named: bool) -> None:
    for row, (way, seasons) in enumerate(results.items()):
        values = [value(one) for one in seasons]
        mark, colour = _MARKS[way]
        axes.plot(values, [row] * len(values), mark, color=colour, markersize=4, alpha=0.35, mew=0)
        axes.plot([spread(values).mean], [row], mark, color=colour, markersize=8)
    axes.set_yticks(range(len(results)), [NAMES[way] for way in results] if named else [])
    axes.set_ylim(len(results) - 0.5, -0.5)
    axes.set_xlabel(label, fontsize=8)
    _tidy(axes)


def _deer(axes: Axes, results: Results, label: str, value: Callable[[Figures, str], float]) -> None:
    """Means in percent of what the board alone meets."""
    for way, seasons in results.items():
        mark, colour = _MARKS[way]
        shares = [
            100
            * spread([value(one, pressure.name) for one in seasons]).mean
            / spread([value(one, pressure.name) for one in results[Way.BOARD]]).mean
            for pressure in ASSUMPTIONS
        ]
        axes.plot(
            shares,
            range(len(shares)),
            mark,
            color=colour,
            markersize=7,
            alpha=0.8,
            label=NAMES[way],
        )
    axes.axvline(100, color="0.6", linewidth=0.8, zorder=0)
    axes.set_xlabel(f"{label}, % of {NAMES[Way.BOARD]}", fontsize=8)
    _tidy(axes)


def _tidy(axes: Axes) -> None:
    axes.tick_params(labelsize=8)
    axes.grid(visible=True, axis="x", color="0.9")
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def in_words(results: Results) -> str:
    """The means of every panel, way by way."""
    told = []
    for way, seasons in results.items():
        parts = [
            f"{label} {spread([value(one) for one in seasons]).mean:.3g}"
            for label, value in _PANELS
        ]
        deer = [
            f"if they {name} {spread([one.deer[name] for one in seasons]).mean:.3g}"
            for name in (pressure.name for pressure in ASSUMPTIONS)
        ]
        told.append(f"{NAMES[way]}: {', '.join(parts)}; deer met {', '.join(deer)}")
    seasons_played = len(next(iter(results.values())))
    return f"Means of {seasons_played} invented seasons. {'. '.join(told)}."

"""The manager's year as it is commonly kept; every line can be moved, added to or taken out.

Common practice, no source: summer inspects, trims and surveys; late summer builds scrapes, hangs
cameras and puts out first scent; autumn watches, refreshes and collects; winter counts, tells the
landowner and renews. Weeks are counted from the anchor, before it below zero.
"""

from dataclasses import dataclass
from enum import StrEnum

from scheduling.worklist.weeks import Anchor


class Task(StrEnum):
    INSPECT = "inspect"
    TRIM = "trim"
    SURVEY = "survey"
    BUILD = "build"
    HANG_CAMERAS = "hang_cameras"
    FIRST_SCENT = "first_scent"
    REFRESH = "refresh"
    OPEN = "open"
    CLOSE = "close"
    COLLECT_DATA = "collect_data"
    HARVEST_FIGURES = "harvest_figures"
    LANDOWNER_SUMMARY = "landowner_summary"
    RENEW_LEASE = "renew_lease"
    OTHER = "other"


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of the common year; ``key`` tells it from the others for good."""

    key: str
    task: Task
    title: str
    anchor: Anchor
    offset_weeks: int


def _line(task: Task, title: str, anchor: Anchor, offset_weeks: int, *, key: str = "") -> Line:
    return Line(
        key=key or task.value, task=task, title=title, anchor=anchor, offset_weeks=offset_weeks
    )


COMMON_YEAR: tuple[Line, ...] = (
    _line(Task.INSPECT, "Inspect every stand before the season", Anchor.SEASON_OPENS, -10),
    _line(Task.TRIM, "Trim lanes and ways in", Anchor.SEASON_OPENS, -9),
    _line(Task.SURVEY, "Camera survey of the herd", Anchor.SEASON_OPENS, -8),
    _line(Task.BUILD, "Build and repair mock scrapes", Anchor.PEAK, -10),
    _line(Task.HANG_CAMERAS, "Hang cameras at the scrapes", Anchor.PEAK, -9),
    _line(Task.FIRST_SCENT, "First scent at the mock scrapes", Anchor.PEAK, -8),
    _line(Task.OPEN, "Open the ground: gates, parking, papers, map", Anchor.SEASON_OPENS, -1),
    _line(Task.REFRESH, "Refresh scent where visits fell", Anchor.PEAK, -3),
    _line(Task.COLLECT_DATA, "Pull cards and collect the hunters' reports", Anchor.PEAK, 1),
    _line(
        Task.COLLECT_DATA,
        "Pull the last cards and collect the last reports",
        Anchor.SEASON_CLOSES,
        1,
        key="collect_last_data",
    ),
    _line(Task.CLOSE, "Close the ground: stands down or locked", Anchor.SEASON_CLOSES, 1),
    _line(Task.HARVEST_FIGURES, "Count the harvest against the plan", Anchor.SEASON_CLOSES, 2),
    _line(Task.LANDOWNER_SUMMARY, "Send the landowner the summary", Anchor.SEASON_CLOSES, 3),
    _line(Task.RENEW_LEASE, "Talk about renewing the lease", Anchor.SEASON_CLOSES, 4),
)

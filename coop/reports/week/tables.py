"""The tables of a week ahead as CSV, from its figures as JSON values."""

from coop.reports.tables import Figures, Rows, Table, columns_of
from coop.reports.week.figures import (
    ClosureAhead,
    ConflictAhead,
    ErrandAhead,
    InspectionAhead,
    SessionAhead,
    SitAhead,
)


def _sessions(figures: Figures) -> Rows:
    for one in figures["sessions"]:
        yield [*list(one.values())[:-1], "; ".join(one["best_stands"])]


TABLES: dict[str, Table] = {
    "sits": columns_of(SitAhead, "sits"),
    "errands": columns_of(ErrandAhead, "errands"),
    "sessions": Table(columns=columns_of(SessionAhead, "sessions").columns, rows=_sessions),
    "conflicts": columns_of(ConflictAhead, "conflicts"),
    "inspections": columns_of(InspectionAhead, "inspections"),
    "closures": columns_of(ClosureAhead, "closures"),
}

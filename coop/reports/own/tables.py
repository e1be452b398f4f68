"""The tables of one's own season as CSV, from its figures as JSON values."""

from coop.reports.own.figures import OwnDeer, OwnProperty, OwnSit
from coop.reports.tables import Figures, Rows, Table, columns_of


def _sits(figures: Figures) -> Rows:
    for one in figures["sits"]:
        yield [*list(one.values())[:-1], "; ".join(one["guests"])]


TABLES: dict[str, Table] = {
    "sits": Table(columns=columns_of(OwnSit, "sits").columns, rows=_sits),
    "deer": columns_of(OwnDeer, "deer"),
    "properties": columns_of(OwnProperty, "properties"),
}

"""Cells of one column of a table: stripped, translated into the words known here, doubted."""

from collections.abc import Mapping

import numpy as np

from scrapes.cameras.camtrap_cells import MISSING, each_once, flags, longer
from scrapes.cameras.instants import may_be_mangled, why_mangled
from scrapes.cameras.observation_rows import LONGEST_TEXT, RowFaults
from scrapes.cameras.tables import Batch


def cells_of(batch: Batch, column: str | None) -> list[str]:
    """The cells of a column without blanks around them; empty where missing, or not mapped."""
    if column is None:
        return [""] * len(batch)
    return each_once(batch.column(column), _without_blanks)


def _without_blanks(cell: str) -> str:
    stripped = cell.strip()
    return "" if stripped in MISSING else stripped


def translated(
    faults: RowFaults,
    batch: Batch,
    column: str | None,
    words: Mapping[str, str],
    known: tuple[str, ...],
    *,
    missing: str = "",
) -> list[str]:
    """Cells as words of ``known``, by the mapping's ``words``; others are marked in ``faults``.

    ``missing`` is what every row says where no column is mapped.
    """
    if column is None:
        return [missing] * len(batch)
    table = {word: word for word in known} | {"": "unknown" if missing else ""} | dict(words)
    cells = cells_of(batch, column)
    faults.mark(
        ~flags(cells, table.__contains__),
        "word_unknown",
        "{} is not translated: it must be one of " + f"{', '.join(known)}.",
        cells,
    )
    return [table.get(cell, "") for cell in cells]


def plain_text(faults: RowFaults, cells: list[str], name: str) -> list[str]:
    """The cells as they are; those too long, or mangled by a spreadsheet, are marked."""
    faults.mark(longer(cells, LONGEST_TEXT[name]), f"{name}_too_long", "{} is too long.", cells)
    why = {
        cell: said
        for cell in filter(may_be_mangled, set(cells))
        if (said := why_mangled(cell, date_expected=False)) is not None
    }
    if why:
        bad = flags(cells, why.__contains__)
        faults.mark_each(bad, {row: why[cells[row]] for row in np.flatnonzero(bad).tolist()})
    return cells

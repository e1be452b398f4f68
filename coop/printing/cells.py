"""Cells of tables that people open in a spreadsheet."""

from typing import Any

# A spreadsheet takes a cell that begins so for a formula, and would run it.
_FORMULA_BEGINS = ("=", "+", "-", "@", "\t", "\r", "\n")


def inert(cell: Any) -> Any:
    """A cell that a spreadsheet shows as it is; numbers stay numbers, None is empty."""
    if cell is None:
        return ""
    if isinstance(cell, str) and cell.startswith(_FORMULA_BEGINS):
        return "'" + cell
    return cell

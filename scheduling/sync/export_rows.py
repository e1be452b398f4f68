"""Rows as lines of JSON or as a table: as the list tells them, in; bytes, out."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any

import orjson

from coop.api.rendering import OPTIONS
from coop.printing.cells import inert

Told = Mapping[str, Any]


class ExportFormat(StrEnum):
    CSV = "csv"
    JSON_LINES = "jsonl"

    @property
    def media_type(self) -> str:
        return "text/csv" if self is ExportFormat.CSV else "application/jsonl"


EXPORT_FORMATS = [(form.value, form.value) for form in ExportFormat]


def export_lines(
    rows: Iterable[Told], *, form: ExportFormat, members: Sequence[str]
) -> Iterator[bytes]:
    """The file in pieces: RFC 4180 with a header of ``members``, or an object a line, UTF-8."""
    if form is ExportFormat.CSV:
        return _table(rows, members)
    return (orjson.dumps(row, option=OPTIONS | orjson.OPT_APPEND_NEWLINE) for row in rows)


def _table(rows: Iterable[Told], members: Sequence[str]) -> Iterator[bytes]:
    yield _line(members)
    for row in rows:
        # The values of JSON, so that an instant is written as in every answer.
        told = orjson.loads(orjson.dumps(row, option=OPTIONS))
        yield _line([_cell(told[name]) for name in members])


def _cell(value: Any) -> Any:
    """What a spreadsheet shows as it is: lists as JSON, no formula."""
    if isinstance(value, list | dict | bool):
        return orjson.dumps(value).decode()
    return inert(value)


def _line(cells: Sequence[Any]) -> bytes:
    line = io.StringIO()
    csv.writer(line).writerow(cells)
    return line.getvalue().encode()

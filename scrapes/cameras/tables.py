"""CSV tables read in batches, plain or packed, within limits.

A row that cannot be split is skipped with its line; a file that cannot be unpacked or decoded, or
that grows beyond its limits, is refused.
"""

import csv
import gzip
import io
import lzma
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import IO, Any, cast

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.observation_rows import Account, ImportRefused
from scrapes.cameras.settings import ImportSettings

_MEGABYTE = 1_000_000
# Below this a high ratio means nothing: a few kilobytes of equal rows pack very small.
_GROWTH_JUDGED_FROM = 5 * _MEGABYTE

UNREADABLE = (
    OSError,
    EOFError,
    UnicodeError,
    RuntimeError,
    NotImplementedError,
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
)


@dataclass(frozen=True, kw_only=True)
class Batch:
    """Rows of a table: the lines they begin on, shape (rows,), and cells by column name."""

    line: NDArray[np.int64]
    columns: Mapping[str, list[str]]

    def __len__(self) -> int:
        return len(self.line)

    def column(self, name: str) -> list[str]:
        """Cells of a column; empty ones where the table does not have it."""
        return self.columns.get(name) or [""] * len(self)


class _Bounded(io.RawIOBase):
    """A stream that refuses to grow beyond what it may."""

    def __init__(self, source: IO[bytes], *, name: str, limit: int, growth_limit: float) -> None:
        self._source, self._name = source, name
        self._limit, self._growth_limit = limit, growth_limit
        self._seen = 0

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        data = self._source.read(len(buffer))
        self._seen += len(data)
        if self._seen > self._limit:
            raise ImportRefused("table_too_large", f"{self._name} is larger than allowed.")
        if self._seen > max(self._growth_limit, _GROWTH_JUDGED_FROM):
            raise ImportRefused(
                "table_grows_too_much", f"{self._name} grows far more in unpacking than tables do."
            )
        buffer[: len(data)] = data
        return len(data)


def bounded_text(
    source: IO[bytes],
    *,
    name: str,
    packed_size: int,
    packed: bool,
    settings: ImportSettings,
    encoding: str = "utf-8-sig",
) -> io.TextIOWrapper:
    """Text of ``source`` within the limits. ``.gz`` in ``name`` is unpacked.

    ``packed`` tells whether ``source`` itself comes out of an archive that took ``packed_size``.
    """
    if name.endswith(".gz"):
        source, packed = cast(IO[bytes], gzip.GzipFile(fileobj=source)), True
    bounded = _Bounded(
        source,
        name=name,
        limit=round(settings.largest_table_mb * _MEGABYTE),
        growth_limit=packed_size * settings.largest_growth if packed else float("inf"),
    )
    return io.TextIOWrapper(io.BufferedReader(bounded, 1 << 18), encoding=encoding, newline="")


def batches(
    text: io.TextIOBase,
    *,
    table: str,
    required: Sequence[str],
    account: Account,
    settings: ImportSettings,
    delimiter: str = ",",
) -> Iterator[Batch]:
    """Rows after the header, ``settings.rows_per_batch`` at a time.

    Columns may stand in any order and unknown ones are passed on. Raises :class:`ImportRefused`
    for a header without a required column or with one twice, and for what is not text.
    """
    reader = csv.reader(_lines(text, table=table), delimiter=delimiter, strict=True)
    header = _header(reader, table=table, required=required)
    ended = reader.line_num
    for rows, ends in _chunks(reader, table=table, account=account, settings=settings):
        # A row begins on the line after the one before it ended; quoted cells may span lines.
        begins = np.append(ended, ends[:-1]) + 1
        ended = ends[-1]
        batch = _batch(header, rows, begins, account)
        if len(batch):
            yield batch


def _lines(text: io.TextIOBase, *, table: str) -> Iterator[str]:
    """Lines, as long as they are text: a NUL is none, and no column of PostgreSQL takes it."""
    for line in text:
        if "\0" in line:
            raise ImportRefused("encoding_invalid", f"{table} holds a NUL: it is not text.")
        yield line


def _chunks(
    reader: Any, *, table: str, account: Account, settings: ImportSettings
) -> Iterator[tuple[list[list[str]], list[int]]]:
    """Rows as split, with the line each ends on; never empty. A row that cannot be split ends a
    chunk: it is accounted for here, and what comes after it begins on a line of its own."""
    rows: list[list[str]] = []
    ends: list[int] = []
    while True:
        before = reader.line_num
        try:
            for row in reader:
                rows.append(row)
                before = reader.line_num
                ends.append(before)
                if len(rows) >= settings.rows_per_batch:
                    yield rows, ends
                    rows, ends = [], []
            break
        except csv.Error as error:
            account.read(1)
            account.skip(
                before + 1,
                "row_malformed",
                f"Lines {before + 1} to {reader.line_num} cannot be split into cells: {error}.",
            )
            # An empty row, left out later, carries the end of the broken lines.
            rows.append([])
            ends.append(reader.line_num)
        except UNREADABLE as error:
            raise _unreadable(table, error) from error
    if rows:
        yield rows, ends


def _header(reader: Any, *, table: str, required: Sequence[str]) -> list[str]:
    try:
        header = next(reader, None)
    except csv.Error as error:
        raise ImportRefused("header_invalid", f"{table}: the header cannot be read.") from error
    except UNREADABLE as error:
        raise _unreadable(table, error) from error
    if not header:
        raise ImportRefused("table_empty", f"{table} is empty: it has no header.")
    missing = [name for name in required if name not in header]
    if missing:
        raise ImportRefused("columns_missing", f"{table} has no column {', '.join(missing)}.")
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if twice:
        raise ImportRefused("columns_twice", f"{table} has the column {', '.join(twice)} twice.")
    return cast(list[str], header)


def _batch(
    header: list[str], rows: list[list[str]], begins: NDArray[np.int64], account: Account
) -> Batch:
    lengths = set(map(len, rows))
    if lengths != {len(header)}:
        whole = []
        for row, line in zip(rows, begins.tolist(), strict=True):
            if row and len(row) != len(header):
                account.skip(
                    line, "row_ragged", f"{len(row)} cells where the header has {len(header)}."
                )
            whole.append(len(row) == len(header))
        account.read(sum(1 for row in rows if row))
        begins = begins[np.array(whole, dtype=bool)]
        rows = [row for row, is_whole in zip(rows, whole, strict=True) if is_whole]
    else:
        account.read(len(rows))
    cells = zip(*rows, strict=True) if rows else [()] * len(header)
    return Batch(
        line=begins,
        columns={name: list(column) for name, column in zip(header, cells, strict=True)},
    )


def _unreadable(table: str, error: Exception) -> ImportRefused:
    if isinstance(error, UnicodeError):
        return ImportRefused("encoding_invalid", f"{table} is not text in the encoding stated.")
    return ImportRefused("file_damaged", f"{table} cannot be unpacked or read: {error}.")

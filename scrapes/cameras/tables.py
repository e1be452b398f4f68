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
    for a header without a required column or with one twice, and for unreadable bytes.
    """
    reader = csv.reader(text, delimiter=delimiter, strict=True)
    header = _header(reader, table=table, required=required)
    rows: list[list[str]] = []
    lines: list[int] = []
    while True:
        line = reader.line_num + 1
        try:
            row = next(reader)
        except StopIteration:
            break
        except csv.Error as error:
            account.read(1)
            account.skip(
                line,
                "row_malformed",
                f"Lines {line} to {reader.line_num} cannot be split into cells: {error}.",
            )
            continue
        except UNREADABLE as error:
            raise _unreadable(table, error) from error
        if not row:
            continue
        account.read(1)
        if len(row) != len(header):
            account.skip(
                line,
                "row_ragged",
                f"{len(row)} cells where the header has {len(header)}.",
            )
            continue
        rows.append(row)
        lines.append(line)
        if len(rows) >= settings.rows_per_batch:
            yield _batch(header, rows, lines)
            rows, lines = [], []
    if rows:
        yield _batch(header, rows, lines)


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


def _batch(header: list[str], rows: list[list[str]], lines: list[int]) -> Batch:
    cells = zip(*rows, strict=True)
    return Batch(
        line=np.array(lines, dtype=np.int64),
        columns={name: list(column) for name, column in zip(header, cells, strict=True)},
    )


def _unreadable(table: str, error: Exception) -> ImportRefused:
    if isinstance(error, UnicodeError):
        return ImportRefused("encoding_invalid", f"{table} is not text in the encoding stated.")
    return ImportRefused("file_damaged", f"{table} cannot be unpacked or read: {error}.")

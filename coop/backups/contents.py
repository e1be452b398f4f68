"""What a database holds, as counts and checksums that two databases can be compared by."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

MODULUS = 2**128


@dataclass(frozen=True, kw_only=True)
class TableContents:
    """Rows of one table and the sum of their digests, whatever their order."""

    rows: int
    checksum: int


@dataclass(frozen=True, kw_only=True)
class Contents:
    """Every table by name, and the definitions of what guards them (indexes, triggers, ...)."""

    tables: Mapping[str, TableContents]
    guards: frozenset[str]

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables.values())


def summed(rows: Iterable[Sequence[Any]]) -> TableContents:
    """Count rows and add up their SHA-256 digests modulo 2**128; the order does not matter."""
    count, total = 0, 0
    for row in rows:
        count += 1
        total += int.from_bytes(sha256(repr(tuple(row)).encode()).digest()[:16], "big")
    return TableContents(rows=count, checksum=total % MODULUS)


def differences(before: Contents, after: Contents) -> Iterator[str]:
    """A sentence for everything in which two databases differ; none where they are equal."""
    for name in sorted(before.tables.keys() | after.tables.keys()):
        one, other = before.tables.get(name), after.tables.get(name)
        if one is None or other is None:
            yield f"table {name} is only in the {'copy' if one is None else 'original'}"
        elif one.rows != other.rows:
            yield f"table {name}: {one.rows} rows in the original, {other.rows} in the copy"
        elif one.checksum != other.checksum:
            yield f"table {name}: {one.rows} rows in both, with other contents"
    for guard in sorted(before.guards ^ after.guards):
        place = "original" if guard in before.guards else "copy"
        yield f"only in the {place}: {guard}"

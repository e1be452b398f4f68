"""Observations as columns, and an account of every row that was not taken."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
Texts = NDArray[np.object_]

KINDS = ("animal", "human", "vehicle", "blank", "unknown", "unclassified")
SEXES = ("female", "male")
LIGHTS = ("day", "night")
LIFE_STAGES = ("adult", "subadult", "juvenile")

NOT_STATED = 0
"""``count`` of a row that does not say how many: a count is at least 1."""

LONGEST_TEXT = {"observation_id": 120, "species": 100, "individual": 60}
LARGEST_COUNT = 32_767


class ImportRefused(ValueError):
    """A file that is not read at all; ``code`` is stable, ``message`` is for people."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


class RowsRefused(ImportRefused):
    """Some rows cannot be taken and all or nothing was asked for, or none can; each is accounted
    for."""

    def __init__(self, accounts: "Sequence[Reconciliation]") -> None:
        count = sum(account.skipped_count for account in accounts)
        super().__init__("rows_refused", f"{count} rows cannot be taken, so none was.")
        self.accounts = tuple(accounts)


@dataclass(frozen=True, kw_only=True)
class Skipped:
    """One row that was not taken. ``line`` is where it begins in its file, the header being 1."""

    table: str
    line: int
    code: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Reconciliation:
    """Every row of one table: read = taken + set aside + skipped.

    ``set_aside`` are media-level rows of deployments that are counted by events. ``skipped`` names
    the first lines; ``skipped_by_code`` counts all of them.
    """

    table: str
    read: int
    taken: int
    set_aside: int = 0
    skipped_by_code: Mapping[str, int] = field(default_factory=dict)
    skipped: tuple[Skipped, ...] = ()

    @property
    def skipped_count(self) -> int:
        return sum(self.skipped_by_code.values())


@dataclass(frozen=True, kw_only=True)
class ObservationColumns:
    """Rows of observations, one array a column, each of shape (rows,).

    Instants are UTC seconds; ``count`` is :data:`NOT_STATED` where empty, and so is text ``""``.
    ``kind`` is one of :data:`KINDS`. ``event_level`` tells whole events from single pictures.
    ``set_up`` marks pictures of people hanging or testing the camera; ``daylight`` those of which
    the source says that they were taken by daylight.
    """

    line: Integers
    observation_id: Texts
    deployment_id: Texts
    start_s: Integers
    end_s: Integers
    kind: Texts
    event_level: Flags
    set_up: Flags
    species: Texts
    count: Integers
    sex: Texts
    life_stage: Texts
    individual: Texts
    daylight: Flags

    def __len__(self) -> int:
        return len(self.line)

    def taken(self, chosen: Flags | Integers) -> "ObservationColumns":
        """Rows chosen by a mask or, in that order, by their positions."""
        return ObservationColumns(
            **{column.name: getattr(self, column.name)[chosen] for column in fields(self)}
        )


def joined(batches: Iterable[ObservationColumns]) -> ObservationColumns:
    """Batches as one, in order."""
    parts = list(batches) or [_no_rows()]
    return ObservationColumns(
        **{
            column.name: np.concatenate([getattr(part, column.name) for part in parts])
            for column in fields(ObservationColumns)
        }
    )


def texts(values: Sequence[str]) -> Texts:
    """The values as a column of objects; (rows,)."""
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def _no_rows() -> ObservationColumns:
    numbers, none = np.zeros(0, dtype=np.int64), np.zeros(0, dtype=object)
    flags = np.zeros(0, dtype=bool)
    return ObservationColumns(
        line=numbers,
        observation_id=none,
        deployment_id=none,
        start_s=numbers,
        end_s=numbers,
        kind=none,
        event_level=flags,
        set_up=flags,
        species=none,
        count=numbers,
        sex=none,
        life_stage=none,
        individual=none,
        daylight=flags,
    )


class Account:
    """Counts the rows of one table while they are read; memory does not grow with the rows."""

    def __init__(self, table: str, *, lines_listed: int) -> None:
        self._table = table
        self._lines_listed = lines_listed
        self._read = 0
        self._set_aside = 0
        self._by_code: dict[str, int] = {}
        self._skipped: list[Skipped] = []

    def read(self, rows: int) -> None:
        self._read += rows

    def set_aside(self, rows: int) -> None:
        self._set_aside += rows

    def skip(self, line: int, code: str, reason: str) -> None:
        self._by_code[code] = self._by_code.get(code, 0) + 1
        if len(self._skipped) < self._lines_listed:
            self._skipped.append(
                Skipped(table=self._table, line=int(line), code=code, reason=reason)
            )

    def close(self) -> Reconciliation:
        left_out = self._set_aside + sum(self._by_code.values())
        return Reconciliation(
            table=self._table,
            read=self._read,
            taken=self._read - left_out,
            set_aside=self._set_aside,
            skipped_by_code=dict(self._by_code),
            skipped=tuple(sorted(self._skipped, key=lambda one: one.line)),
        )


class RowFaults:
    """Faults of one batch. A row is skipped for the first fault found in it."""

    def __init__(self, line: Integers, account: Account) -> None:
        self._line = line
        self._account = account
        self.sound: Flags = np.ones(len(line), dtype=bool)

    def mark(self, faulty: Flags, code: str, reason: str, values: Sequence[object]) -> None:
        """Skip rows where ``faulty``; ``{}`` in ``reason`` takes the row's value."""
        for row in np.flatnonzero(faulty & self.sound).tolist():
            self._account.skip(self._line[row], code, reason.format(shown(values[row])))
        self.sound &= ~faulty

    def mark_each(self, faulty: Flags, reasons: Mapping[int, tuple[str, str]]) -> None:
        """As :meth:`mark`, with a code and a reason for each row."""
        for row in np.flatnonzero(faulty & self.sound).tolist():
            code, reason = reasons[row]
            self._account.skip(self._line[row], code, reason)
        self.sound &= ~faulty


def shown(value: object) -> str:
    """A cell as quoted in a message: never long, never more than a line."""
    text = " ".join(str(value).split())
    return f'"{text if len(text) <= 40 else text[:37] + "..."}"'

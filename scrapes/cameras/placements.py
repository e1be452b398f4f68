"""Which deployment of ours each row of a file belongs to: by its name for it, and by its time."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from properties.land.settings import setting
from scrapes.cameras.observation_rows import ObservationColumns, RowFaults

Integers = NDArray[np.int64]

ENDLESS = int(np.iinfo(np.int64).max)


@dataclass(frozen=True, kw_only=True)
class IntakeSettings:
    """How an import finds its way to scrapes, and how long uploads are kept."""

    nearest_scrape_m: float = setting(
        75.0,
        unit="m",
        minimum=1,
        maximum=1_000,
        description="A camera that only the file knows is taken to watch the nearest scrape, if "
        "that is within this distance. Common practice, no source.",
    )
    uploads_kept_days: float = setting(
        14.0,
        unit="d",
        minimum=1,
        maximum=365,
        description="Uploaded files, and packages made for download, are removed after this time; "
        "what was taken stays.",
    )


@dataclass(frozen=True, kw_only=True)
class Placement:
    """One of our deployments; ``[start_s, end_s]`` in UTC seconds, both ends included.

    A camera's last picture often carries the very second in which it was taken down.
    """

    deployment_id: UUID
    start_s: int
    end_s: int = ENDLESS
    longitude: float = 0.0
    latitude: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Unplaced:
    """Why a name of the file is no deployment of ours."""

    code: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Placements:
    """Deployments by the file's names for them: one, or all of a camera, sorted by start."""

    by_name: Mapping[str, tuple[Placement, ...]]
    unplaced: Mapping[str, Unplaced] = field(default_factory=dict)

    def deployment_ids(self) -> frozenset[UUID]:
        return frozenset(
            one.deployment_id for placements in self.by_name.values() for one in placements
        )

    def described(self) -> list[object]:
        """Names and spans as plain values in a stable order, for a digest."""
        return [
            [name, [[str(one.deployment_id), one.start_s, one.end_s] for one in placements]]
            for name, placements in sorted(self.by_name.items())
        ]


def in_order(placements: Iterable[Placement]) -> tuple[Placement, ...]:
    """Placements by their beginning, then by id."""
    return tuple(sorted(placements, key=lambda one: (one.start_s, str(one.deployment_id))))


@dataclass(frozen=True, kw_only=True)
class Outside:
    """Rows whose time lies outside their deployment, and the span of their times in UTC seconds."""

    rows: int
    first_s: int
    last_s: int

    def joined(self, other: "Outside | None") -> "Outside":
        if other is None:
            return self
        return Outside(
            rows=self.rows + other.rows,
            first_s=min(self.first_s, other.first_s),
            last_s=max(self.last_s, other.last_s),
        )


@dataclass(frozen=True, kw_only=True)
class PlacedRows:
    """Rows with the deployment of each, shape (rows,), and rows outside their time, counted."""

    rows: ObservationColumns
    deployment_id: NDArray[np.object_]
    outside: Mapping[UUID, Outside]


def place_rows(rows: ObservationColumns, *, where: Placements, faults: RowFaults) -> PlacedRows:
    """Find each row's deployment; rows without one go to ``faults`` with the reason.

    Of two deployments of a camera that meet in an instant the later one has it.
    """
    ids: NDArray[np.object_] = np.full(len(rows), None, dtype=object)
    outside: dict[UUID, Outside] = {}
    names = rows.deployment_id.tolist()
    numbers = {name: number for number, name in enumerate(dict.fromkeys(names))}
    number = np.fromiter(map(numbers.__getitem__, names), dtype=np.int64, count=len(names))
    for name in numbers:
        here = number == numbers[name]
        placements = where.by_name.get(name)
        if not placements:
            why = where.unplaced.get(name) or not_ours(name)
            everywhere = dict.fromkeys(np.flatnonzero(here).tolist(), (why.code, why.reason))
            faults.mark_each(here, everywhere)
            continue
        chosen, inside = _by_time(rows.start_s[here], placements)
        found: NDArray[np.object_] = np.empty(len(placements), dtype=object)
        found[:] = [one.deployment_id for one in placements]
        ids[here] = found[chosen]
        late = np.zeros(len(rows), dtype=bool)
        late[np.flatnonzero(here)[~inside]] = True
        faults.mark(
            late,
            "outside_deployment",
            "The observation {} lies outside the time in which its camera hung there.",
            rows.observation_id.tolist(),
        )
        for deployment_id in dict.fromkeys(ids[late].tolist()):
            at_s = rows.start_s[late & (ids == deployment_id)]
            found_here = Outside(rows=len(at_s), first_s=int(at_s.min()), last_s=int(at_s.max()))
            outside[deployment_id] = found_here.joined(outside.get(deployment_id))
    # Rows of one deployment together: every index of theirs begins with it, and a database that
    # fills one page after the other is half as long about it.
    together = np.argsort(number, kind="stable")
    kept = together[faults.sound[together]]
    return PlacedRows(rows=rows.taken(kept), deployment_id=ids[kept], outside=outside)


def not_ours(name: str) -> Unplaced:
    """Why rows under a name that no deployment here has are not placed."""
    return Unplaced(
        code="deployment_not_ours",
        reason=f'No deployment on this property has the code "{name[:60]}", and none was named '
        "for it.",
    )


def _by_time(
    at_s: Integers, placements: tuple[Placement, ...]
) -> tuple[Integers, NDArray[np.bool_]]:
    """For each instant the latest placement begun (the first before all), and whether it holds."""
    starts = np.array([one.start_s for one in placements], dtype=np.int64)
    ends = np.array([one.end_s for one in placements], dtype=np.int64)
    chosen = np.maximum(np.searchsorted(starts, at_s, side="right") - 1, 0)
    return chosen, (at_s >= starts[chosen]) & (at_s <= ends[chosen])

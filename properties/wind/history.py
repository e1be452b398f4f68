"""A season's observed wind through the model: where each stand could be hunted, and the gap.

Sectors and speeds are those of the wind as observed, the same for every stand, so that
tables of several stands can be laid side by side.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from properties.wind.air import AirHours
from properties.wind.answer import StandFit, Verdict
from properties.wind.learning_settings import WindHistorySettings
from properties.wind.sectors import SECTOR_NAMES, sector_of
from properties.wind.wind_rose import SPEED_EDGES_MPS

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]

SECTORS: Final = len(SECTOR_NAMES)
CALM: Final = SECTORS
"""The row of sessions without a direction: calm and variable wind."""
SPEED_CLASSES: Final = len(SPEED_EDGES_MPS) + 1


@dataclass(frozen=True, kw_only=True)
class SessionWind:
    """The wind of one session: row of the table (8: no direction) and speed class."""

    row: int
    speed_class: int


@dataclass(frozen=True, kw_only=True, eq=False)
class StandHistory:
    """Sessions of one stand by row (8 sectors, then calm) and speed class; arrays (9, classes).

    ``mean_fit`` is NaN where no session stands. Sessions whose fit is not known are counted
    apart and stand nowhere else.
    """

    sessions: IntArray
    huntable: IntArray
    mean_fit: FloatArray
    unknown: int

    @property
    def known(self) -> int:
        return int(self.sessions.sum())

    @property
    def huntable_share(self) -> float | None:
        return float(self.huntable.sum() / self.known) if self.known else None

    def share_of_row(self, row: int) -> float | None:
        """Share of a row's sessions in which the stand was huntable; None without any."""
        sessions = int(self.sessions[row].sum())
        return float(self.huntable[row].sum() / sessions) if sessions else None

    def as_dict(self) -> dict[str, Any]:
        return {
            "sessions": self.known,
            "unknown_sessions": self.unknown,
            "huntable_sessions": int(self.huntable.sum()),
            "huntable_share": _rounded(self.huntable_share),
            "rows": [
                {
                    "sector": row_name(row),
                    "huntable_share": _rounded(self.share_of_row(row)),
                    "cells": [self._cell(row, column) for column in range(SPEED_CLASSES)],
                }
                for row in range(SECTORS + 1)
            ],
        }

    def _cell(self, row: int, column: int) -> dict[str, Any]:
        sessions = int(self.sessions[row, column])
        return {
            "sessions": sessions,
            "huntable": int(self.huntable[row, column]),
            "mean_fit": _rounded(float(self.mean_fit[row, column])) if sessions else None,
        }


@dataclass(frozen=True, kw_only=True)
class SectorCover:
    """What a property has for wind from one sector.

    ``with_a_stand`` of ``sessions`` had some huntable stand; ``best_stand`` was huntable in
    most of them. ``is_gap``: no stand holds the sector; None where too few sessions tell.
    """

    sector: str
    sessions: int
    with_a_stand: int
    best_stand: str | None
    best_share: float | None
    is_gap: bool | None

    def as_dict(self) -> dict[str, Any]:
        return {
            "sector": self.sector,
            "sessions": self.sessions,
            "with_a_stand": self.with_a_stand,
            "best_stand": self.best_stand,
            "best_share": _rounded(self.best_share),
            "is_gap": self.is_gap,
        }


def row_name(row: int) -> str:
    """A row of the table by wind: the name of its sector, or calm."""
    return "calm" if row == CALM else SECTOR_NAMES[row]


def session_wind(air: AirHours) -> SessionWind | None:
    """The sector in which a session's wind stood longest, and the class of its mean speed.

    Hunted and known hours count, by their steps; hours without a direction for the row of
    calm. Of sectors as long the first clockwise from north. None where no hunted hour is
    known.
    """
    steps = np.where(air.known & np.isfinite(air.speed_mps), air.steps, 0.0)
    if steps.sum() <= 0:
        return None
    rows = np.where(air.speed_mps > 0, sector_of(air.wind_from_deg, count=SECTORS), -1)
    time = np.bincount(np.where(rows < 0, CALM, rows), weights=steps, minlength=SECTORS + 1)
    speed = float(np.average(np.where(steps > 0, air.speed_mps, 0.0), weights=steps))
    speed_class = int(np.searchsorted(SPEED_EDGES_MPS, speed, side="right"))
    return SessionWind(row=int(np.argmax(time)), speed_class=speed_class)


def is_huntable(fit: StandFit) -> bool:
    """Neither unfit nor unknown by the settings, and not closed by gusts."""
    return fit.verdict in (Verdict.FIT, Verdict.MARGINAL) and not fit.closed_by_gust


def stand_history(fits: Sequence[StandFit], winds: Sequence[SessionWind | None]) -> StandHistory:
    """One stand's sessions laid out by wind. Raises ValueError for unequal lengths."""
    shape = (SECTORS + 1, SPEED_CLASSES)
    sessions, huntable = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    total = np.zeros(shape)
    unknown = 0
    for fit, wind in zip(fits, winds, strict=True):
        if wind is None or fit.fit is None:
            unknown += 1
            continue
        at = (wind.row, wind.speed_class)
        sessions[at] += 1
        huntable[at] += is_huntable(fit)
        total[at] += fit.fit
    mean = np.divide(total, sessions, out=np.full(shape, np.nan), where=sessions > 0)
    return StandHistory(sessions=sessions, huntable=huntable, mean_fit=mean, unknown=unknown)


def sector_covers(
    *,
    histories: Mapping[str, StandHistory],
    huntable: npt.NDArray[np.bool_],
    winds: Sequence[SessionWind | None],
    settings: WindHistorySettings,
) -> tuple[SectorCover, ...]:
    """What the property has for each sector; ``huntable`` (stands, sessions), in order."""
    rows = np.array([-1 if wind is None else wind.row for wind in winds], dtype=np.int64)
    any_stand = huntable.any(axis=0) if len(huntable) else np.zeros(len(rows), dtype=bool)
    covers = []
    for sector in range(SECTORS):
        from_here = rows == sector
        shares = {name: history.share_of_row(sector) for name, history in histories.items()}
        known = {name: share for name, share in shares.items() if share is not None}
        best = max(known, key=lambda name: known[name]) if known else None
        sessions = int(from_here.sum())
        held = best is not None and known[best] >= settings.reliable_share
        covers.append(
            SectorCover(
                sector=SECTOR_NAMES[sector],
                sessions=sessions,
                with_a_stand=int((from_here & any_stand).sum()),
                best_stand=best,
                best_share=known[best] if best is not None else None,
                is_gap=None if sessions < settings.least_sessions else not held,
            )
        )
    return tuple(covers)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)

"""Same wind: a stand is used only so often under one wind sector in any D days in a row.

Past uses count 1000 per mille in the sector observed, coming ones the forecast's chance of
each sector, so the sum in a sector is an expected number of uses, and exact.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from properties.sessions.kinds import SessionKey

from .refusal import Refusal
from .rows import BoolArray, IntArray, UseRows, no_use_rows
from .uses import FULL_PER_MILLE, Use
from .windows import day_windows, undominated
from .words import count_words, sector_words

CODE = "same_wind"
_STANDS_AT_ONCE = 256


def refusal(
    *,
    stand_id: str,
    session: SessionKey,
    sector_per_mille: Sequence[int],
    uses: Sequence[Use],
    cap: int,
    window_days: int,
) -> Refusal | None:
    """Would one more use under this forecast exceed the cap in some sector and window?

    ``sector_per_mille`` is the forecast of the session. ``uses`` are the uses that stand,
    past and booked. To join a use that is already there is not another use.
    """
    own = [use for use in uses if use.stand_id == stand_id]
    if any(use.session == session for use in own):
        return None
    own = [use for use in own if not use.continues_morning]
    for sector in sorted(range(len(sector_per_mille)), key=lambda s: -sector_per_mille[s]):
        chance = sector_per_mille[sector]
        if chance == 0:
            continue
        counted = _most_in_a_window(session, own, sector, window_days)
        if counted + chance > cap * FULL_PER_MILLE:
            return _refusal(sector, sector_per_mille, counted, cap, window_days)
    return None


def _most_in_a_window(
    session: SessionKey, uses: Sequence[Use], sector: int, window_days: int
) -> int:
    """The largest per mille sum in ``sector`` over windows that hold the session's day."""
    day = session.local_date.toordinal()
    weights = [
        (use.session.local_date.toordinal(), use.sector_per_mille[sector])
        for use in uses
        if sector < len(use.sector_per_mille)
    ]
    if not weights:
        return 0
    return max(
        sum(weight for other, weight in weights if first <= other < first + window_days)
        for first in range(day - window_days + 1, day + 1)
    )


def _refusal(
    sector: int, sector_per_mille: Sequence[int], counted: int, cap: int, window_days: int
) -> Refusal:
    wind = sector_words(sector, len(sector_per_mille))
    chance = sector_per_mille[sector]
    return Refusal(
        code=CODE,
        sentence=f"This stand is used at most {count_words(cap, 'time')} in any "
        f"{count_words(window_days, 'day')} on one wind. On a {wind} wind "
        f"{counted / FULL_PER_MILLE:g} are counted already, and the forecast gives that wind "
        f"a chance of {chance / 10:g} %.",
        facts={
            "sector": sector,
            "sectors": len(sector_per_mille),
            "counted_per_mille": counted,
            "chance_per_mille": chance,
            "cap": cap,
            "window_days": window_days,
        },
        overrulable=True,
    )


def rows(
    *,
    stand_ids: Sequence[str],
    sessions: Sequence[SessionKey],
    offered: BoolArray,
    sector_per_mille: IntArray,
    uses: Sequence[Use],
    cap: int,
    window_days: int,
) -> UseRows:
    """A row for each stand, sector and maximal window that could exceed the cap.

    ``offered`` has shape (stands, sessions) and says which uses could be planned and count
    as one; ``sector_per_mille`` has shape (stands, sessions, sectors). ``uses`` lie outside
    the planned sessions and lower the limits; a limit is never below 0, for what has been
    cannot be undone.
    """
    days = np.array([key.local_date.toordinal() for key in sessions], dtype=np.int64)
    starts, inside = day_windows(days, window_days)
    past = _past_in_windows(stand_ids, uses, starts, window_days, sectors=sector_per_mille.shape[2])
    limit = np.maximum(cap * FULL_PER_MILLE - past, 0)
    weight = sector_per_mille * offered[:, :, None]
    parts, limits, first = [], [], 0
    for stands in _slices(len(stand_ids)):
        inner = weight[stands].transpose(0, 2, 1)[:, :, None, :] * inside[None, None]
        kept = undominated(inner > 0, limit[stands]) & (inner.sum(axis=3) > limit[stands])
        number = np.full(kept.shape, -1)
        number[kept] = np.arange(first, first + kept.sum())
        stand, sector, window, session = np.nonzero((inner > 0) & kept[..., None])
        row = number[stand, sector, window]
        parts.append((row, stand + stands.start, session, inner[stand, sector, window, session]))
        limits.append(limit[stands][kept])
        first += int(kept.sum())
    if not parts:
        return no_use_rows(CODE)
    columns = [np.concatenate(column).astype(np.int64) for column in zip(*parts, strict=True)]
    return UseRows(
        code=CODE,
        row=columns[0],
        stand=columns[1],
        session=columns[2],
        weight=columns[3],
        limit=np.concatenate(limits).astype(np.int64),
    )


def _slices(count: int) -> Iterator[slice]:
    for start in range(0, count, _STANDS_AT_ONCE):
        yield slice(start, min(start + _STANDS_AT_ONCE, count))


def _past_in_windows(
    stand_ids: Sequence[str],
    uses: Sequence[Use],
    starts: IntArray,
    window_days: int,
    sectors: int,
) -> IntArray:
    """Per mille already counted, shape (stands, sectors, windows)."""
    index = {stand_id: number for number, stand_id in enumerate(stand_ids)}
    past = np.zeros((len(stand_ids), sectors, len(starts)), dtype=np.int64)
    for use in uses:
        stand = index.get(use.stand_id)
        if stand is None or use.continues_morning or not use.sector_per_mille:
            continue
        day = use.session.local_date.toordinal()
        holds = (starts <= day) & (day < starts + window_days)
        past[stand] += np.array(use.sector_per_mille, dtype=np.int64)[:, None] * holds
    return past

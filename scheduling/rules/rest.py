"""A stand rests: at most one use of it in any R days in a row.

Two sessions of one day are two uses; an all-day sit is one. R = 1 allows one use a day,
R = 0 sets no rest.
"""

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from properties.sessions.kinds import SessionKey

from .refusal import Refusal
from .rows import BoolArray, IntArray, UseRows
from .uses import Use
from .windows import day_windows, undominated
from .words import count_words, day_words, session_words

CODE = "stand_resting"


def refusal(
    *, stand_id: str, session: SessionKey, uses: Sequence[Use], rest_days: int
) -> Refusal | None:
    """Would using this stand in this session break its rest?

    ``uses`` are the uses that stand, past and booked, of this and any other stand. To join
    a use that is already there is not another use, so it is not refused here.
    """
    own = [use for use in uses if use.stand_id == stand_id]
    if any(use.session == session for use in own):
        return None
    for use in sorted(own, key=lambda use: use.session.order, reverse=True):
        if use.continues_morning:
            continue
        rest = rest_between(use, session, rest_days)
        if abs((session.local_date - use.session.local_date).days) < rest:
            return _refusal(session, use, rest)
    return None


def rest_between(use: Use, session: SessionKey, rest_days: int) -> int:
    """The rest in days that must lie between ``use`` and another use in ``session``.

    The earlier of the two sets it.
    """
    if use.session.order < session.order and use.rest_days is not None:
        return use.rest_days
    return rest_days


def _refusal(session: SessionKey, use: Use, rest: int) -> Refusal:
    if use.session.order < session.order:
        free = use.session.local_date + timedelta(days=rest)
        why = f"it is taken in {session_words(use.session)} and free again from {day_words(free)}"
    else:
        why = f"it is booked for {session_words(use.session)}"
    return Refusal(
        code=CODE,
        sentence=f"This stand rests: one use in any {count_words(rest, 'day')}, and {why}.",
        facts={
            "rest_days": rest,
            "other_use_date": use.session.local_date.isoformat(),
            "other_use_kind": use.session.kind.value,
        },
        overrulable=True,
    )


def rows(
    *,
    stand_ids: Sequence[str],
    sessions: Sequence[SessionKey],
    offered: BoolArray,
    rest_days: IntArray,
    uses: Sequence[Use],
) -> UseRows:
    """The rest of all stands: one row for each maximal window, one for each blocked session.

    ``offered`` of shape (stands, sessions) says which uses could be planned and count as
    one; ``rest_days`` has shape (stands,). ``uses`` lie outside the planned sessions: what
    they block gets a row of its own with limit 0.
    """
    blocked = blocked_sessions(
        stand_ids=stand_ids, sessions=sessions, rest_days=rest_days, uses=uses
    )
    blocks = np.argwhere(offered & blocked)
    parts = [(np.arange(len(blocks)), blocks[:, 0], blocks[:, 1])]
    limits = [np.zeros(len(blocks), dtype=np.int64)]
    first = len(blocks)
    days = np.array([key.local_date.toordinal() for key in sessions], dtype=np.int64)
    for length in np.unique(rest_days[rest_days > 0]):
        stands = np.flatnonzero(rest_days == length)
        _, inside = day_windows(days, int(length))
        entries = inside[None, :, :] & offered[stands][:, None, :]
        kept = undominated(entries, np.ones(entries.shape[:2], dtype=np.int64))
        kept &= entries.sum(axis=2) > 1
        number = np.full(kept.shape, -1)
        number[kept] = np.arange(first, first + kept.sum())
        which, window, session = np.nonzero(entries & kept[:, :, None])
        parts.append((number[which, window], stands[which], session))
        limits.append(np.ones(int(kept.sum()), dtype=np.int64))
        first += int(kept.sum())
    row, stand, session = (
        np.concatenate(column).astype(np.int64) for column in zip(*parts, strict=True)
    )
    return UseRows(
        code=CODE,
        row=row,
        stand=stand,
        session=session,
        weight=np.ones(len(row), dtype=np.int64),
        limit=np.concatenate(limits),
    )


def blocked_sessions(
    *,
    stand_ids: Sequence[str],
    sessions: Sequence[SessionKey],
    rest_days: IntArray,
    uses: Sequence[Use],
) -> BoolArray:
    """Which planned uses the uses outside the plan forbid; shape (stands, sessions)."""
    index = {stand_id: number for number, stand_id in enumerate(stand_ids)}
    days = np.array([key.local_date.toordinal() for key in sessions], dtype=np.int64)
    order = np.array([key.order for key in sessions], dtype=np.int64)
    blocked = np.zeros((len(stand_ids), len(sessions)), dtype=np.bool_)
    for use in uses:
        stand = index.get(use.stand_id)
        if stand is None or use.continues_morning:
            continue
        own = int(rest_days[stand])
        after = own if use.rest_days is None else use.rest_days
        rest = np.where(order > use.session.order, after, own)
        blocked[stand] |= np.abs(days - use.session.local_date.toordinal()) < rest
    return blocked

"""Windows of consecutive days over the planned sessions."""

import numpy as np

from .rows import BoolArray, IntArray


def day_windows(days: IntArray, length_days: int) -> tuple[IntArray, BoolArray]:
    """Every window of ``length_days`` days that holds a planned session.

    ``days`` of shape (sessions,) is each session's day as a whole number. Returns the first
    day of each window, shape (windows,), and which sessions lie inside, (windows, sessions).
    """
    if not len(days):
        return np.zeros(0, dtype=np.int64), np.zeros((0, 0), dtype=np.bool_)
    starts = np.arange(days.min() - length_days + 1, days.max() + 1, dtype=np.int64)
    inside = (days >= starts[:, None]) & (days < starts[:, None] + length_days)
    held = inside.any(axis=1)
    return starts[held], inside[held]


def undominated(entries: BoolArray, limit: IntArray) -> BoolArray:
    """Which windows no neighbouring window makes superfluous.

    ``entries`` has shape (..., windows, sessions), ``limit`` (..., windows). A window is
    superfluous when a neighbour holds all of its entries under a limit at least as tight;
    of two alike the later stays.
    """
    kept = np.ones(limit.shape, dtype=np.bool_)
    if limit.shape[-1] < 2:
        return kept
    earlier, later = entries[..., :-1, :], entries[..., 1:, :]
    tight, loose = limit[..., :-1], limit[..., 1:]
    in_later = ~(earlier & ~later).any(axis=-1) & (loose <= tight)
    in_earlier = ~(later & ~earlier).any(axis=-1) & (tight <= loose)
    kept[..., :-1] &= ~in_later
    kept[..., 1:] &= ~(in_earlier & ~in_later)
    return kept

"""When the next question about an overdue hunter is due: pure, by the clock it is given."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

RUNGS = (1, 2, 3)
"""The hunter, the managers, the emergency contact."""


@dataclass(frozen=True, kw_only=True)
class Ladder:
    """What decides which question comes next.

    ``expected_by`` is the end of the sit, or the later time that the hunter gave;
    ``raised_at`` holds the instant at which each rung so far was raised.
    """

    expected_by: datetime
    margin: timedelta
    step: timedelta
    raised_at: Mapping[int, datetime]
    is_answered: bool = False


def next_rung(ladder: Ladder) -> tuple[int, datetime] | None:
    """The rung that comes next and the instant from which it is due; None when none does.

    Each rung waits a step from the one before it was raised, not from when it should have
    been: after an outage the hunter still has the time to answer first.
    """
    if ladder.is_answered:
        return None
    for rung in RUNGS:
        if rung in ladder.raised_at:
            continue
        if rung == RUNGS[0]:
            return rung, ladder.expected_by + ladder.margin
        return rung, ladder.raised_at[rung - 1] + ladder.step
    return None


def rung_due(ladder: Ladder, *, now: datetime) -> int | None:
    """The rung to raise at ``now``, at most one."""
    coming = next_rung(ladder)
    if coming is None or now < coming[1]:
        return None
    return coming[0]

"""The ladder of asking after somebody who is overdue: pure, by marks and a clock handed in.

One ladder serves whoever is out: a hunter on a stand, and somebody on foot who tracks a deer.
The person is asked first, then the managers are told, then they are told to call. An answer
stops it; word of a later time begins a new ladder, so that nobody late again goes unasked.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import IntEnum, StrEnum
from typing import Any

from scheduling.sits.settings import SitSettings


class Rung(IntEnum):
    """Who is asked, in this order; the numbers are stored."""

    HUNTER = 1
    MANAGERS = 2
    EMERGENCY_CONTACT = 3

    @property
    def label(self) -> str:
        return self.name.lower()


LAST_RUNG = Rung.EMERGENCY_CONTACT


class Answer(StrEnum):
    """What alarmed managers are told, each once for a ladder: who is on it may be searching."""

    ACKNOWLEDGED = "acknowledged"
    LATER = "later"
    OVER = "over"


Marks = Mapping[int, datetime]
"""The instant at which each rung of the present ladder was raised; absent where it was not."""


@dataclass(frozen=True, kw_only=True)
class Pace:
    """``margin`` from the time somebody was expected to the first rung, ``step`` between rungs."""

    margin: timedelta
    step: timedelta

    @classmethod
    def of(cls, settings: SitSettings) -> "Pace":
        return cls(
            margin=timedelta(minutes=settings.overdue_margin_min),
            step=timedelta(minutes=settings.overdue_step_min),
        )


@dataclass(frozen=True, kw_only=True)
class Ladder:
    """What decides which question comes next.

    ``expected_by`` is when somebody should be back: the end of the sit, or the later time
    that they gave. ``is_answered`` is set by an acknowledgement, or by being back.
    """

    expected_by: datetime
    pace: Pace
    raised_at: Marks
    is_answered: bool = False


def next_rung(ladder: Ladder) -> tuple[Rung, datetime] | None:
    """The rung that comes next and the instant from which it is due; None when none does.

    Each rung waits a step from the one before it was raised, not from when it should have
    been: after an outage the person asked still has the time to answer first.
    """
    if ladder.is_answered:
        return None
    for rung in Rung:
        if rung in ladder.raised_at:
            continue
        if rung == Rung.HUNTER:
            return rung, ladder.expected_by + ladder.pace.margin
        return rung, ladder.raised_at[rung - 1] + ladder.pace.step
    return None


def rung_due(ladder: Ladder, *, now: datetime) -> Rung | None:
    """The rung to raise at ``now``, at most one."""
    coming = next_rung(ladder)
    if coming is None or now < coming[1]:
        return None
    return coming[0]


def managers_are_alarmed(raised_at: Marks) -> bool:
    """Whether an answer has somebody to reach: the managers were told and may be searching."""
    return Rung.MANAGERS in raised_at


def answered(*, by: str, now: datetime) -> dict[str, Any]:
    """What an acknowledgement changes of whoever is overdue: the present ladder stops.

    ``by`` is the name of who acknowledged, of which the first 200 letters are kept.
    """
    return {"acknowledged_at": now, "acknowledged_by": by[:200]}


def asked_again(*, ladder_number: int, back_by: datetime) -> dict[str, Any]:
    """What word of a later time changes: the ladder after ``ladder_number``, unanswered."""
    return {
        "back_by": back_by,
        "ladder_number": ladder_number + 1,
        "acknowledged_at": None,
        "acknowledged_by": "",
    }


@dataclass(frozen=True, kw_only=True)
class Watched:
    """The reconciliation: how many were past their time and unanswered, rungs raised now."""

    looked_at: int
    raised: Mapping[Rung, int]

    @classmethod
    def of(cls, looks: Iterable[Rung | None]) -> "Watched":
        """Count ``looks``, one for each who was looked at: the rung raised for them, or None."""
        counted = Counter(looks)
        return cls(looked_at=counted.total(), raised={rung: counted[rung] for rung in Rung})

    @property
    def still_waiting(self) -> int:
        """Those for whom no rung was due yet."""
        return self.looked_at - sum(self.raised.values())

    def as_result(self) -> dict[str, Any]:
        """For the row of a job's run: counts, those of the rungs by their labels."""
        return {
            "looked_at": self.looked_at,
            "raised": {rung.label: count for rung, count in self.raised.items()},
            "still_waiting": self.still_waiting,
        }

"""What identifies a session: the property's local date and whether it is morning or evening."""

from datetime import date
from enum import StrEnum
from typing import NamedTuple


class SessionKind(StrEnum):
    """Morning comes before evening, though not in the alphabet."""

    MORNING = "morning"
    EVENING = "evening"

    def __lt__(self, other: str) -> bool:
        return self is SessionKind.MORNING and SessionKind(other) is SessionKind.EVENING

    def __gt__(self, other: str) -> bool:
        return self is SessionKind.EVENING and SessionKind(other) is SessionKind.MORNING


KIND_WORDS = (
    "A session's kind: morning or evening. Where a sit is booked its `span` is named instead"
)
SPAN_WORDS = (
    "What a sit takes: morning or evening, which are the kinds of a session, or `all_day` for both"
)


class SessionKey(NamedTuple):
    """One session of one property; sorts by date, then morning before evening."""

    local_date: date
    kind: SessionKind

    @property
    def order(self) -> int:
        """Consecutive whole number over all sessions: two a day."""
        return 2 * self.local_date.toordinal() + (self.kind is SessionKind.EVENING)

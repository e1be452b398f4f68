"""What identifies a session: the property's local date and whether it is morning or evening."""

from datetime import date
from enum import StrEnum
from typing import NamedTuple


class SessionKind(StrEnum):
    MORNING = "morning"
    EVENING = "evening"


class SessionKey(NamedTuple):
    """One session of one property; :attr:`order` puts sessions in order of time."""

    local_date: date
    kind: SessionKind

    @property
    def order(self) -> int:
        """Consecutive whole number over all sessions: two a day."""
        return 2 * self.local_date.toordinal() + (self.kind is SessionKind.EVENING)

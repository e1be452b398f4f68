"""A cursor says how far a copy has come; pure. Its text is for no one but this server.

It holds the feed, a digest of what its reader may see, the number up to which changes are
known, and within the first reading the last id that was told.
"""

import base64
import binascii
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass

LONGEST = 400


@dataclass(frozen=True, kw_only=True)
class SyncCursor:
    """``told_up_to`` is None once the first reading is over, and empty before its first row."""

    feed: str
    reach: str
    number: int
    told_up_to: str | None = None

    def text(self) -> str:
        told = json.dumps([self.feed, self.reach, self.number, self.told_up_to])
        return base64.urlsafe_b64encode(told.encode()).decode().rstrip("=")


def read_cursor(text: str) -> SyncCursor:
    """The cursor behind a text; raises :class:`ValueError` for one that nobody was given."""
    if not text.isascii() or len(text) > LONGEST:
        raise ValueError("no cursor")
    try:
        padded = text + "=" * (-len(text) % 4)
        told = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
    except (binascii.Error, UnicodeDecodeError, RecursionError) as error:
        raise ValueError("no cursor") from error
    match told:
        case [str(feed), str(reach), int(number), (str() | None) as told_up_to] if (
            0 <= number < 2** 63 and not isinstance(number, bool)
        ):
            return SyncCursor(feed=feed, reach=reach, number=number, told_up_to=told_up_to)
    raise ValueError("no cursor")


def reach_digest(caller: str, places: Iterable[str]) -> str:
    """What a caller may see, in brief: another caller or other places give another digest."""
    told = "\n".join([caller, *sorted(places)])
    return hashlib.sha256(told.encode()).hexdigest()[:24]

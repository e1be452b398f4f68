"""Waiting for what another process makes true, with a deadline."""

import time
from collections.abc import Callable
from typing import TypeVar

Found = TypeVar("Found")
LOOK_EVERY_S = 0.02


class Late(AssertionError):
    """Something that had to happen did not happen in time."""


def until(look: Callable[[], Found], *, within_s: float, what: str) -> Found:
    """The first true answer of ``look``; raises :class:`Late` when there is none in time."""
    deadline = time.monotonic() + within_s
    while not (found := look()):
        if time.monotonic() > deadline:
            raise Late(f"not within {within_s:g} s: {what}")
        time.sleep(LOOK_EVERY_S)
    return found


def never(look: Callable[[], object], *, for_s: float) -> bool:
    """Whether ``look`` stays false for as long as that."""
    deadline = time.monotonic() + for_s
    while time.monotonic() < deadline:
        if look():
            return False
        time.sleep(LOOK_EVERY_S)
    return True

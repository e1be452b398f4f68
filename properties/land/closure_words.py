"""Closed ground in a sentence: what, in which sessions, from when, until when, and why."""

from datetime import date

GROUND_CLOSED = "The ground is closed"
PART_CLOSED = "A part of the ground is closed"
_SESSIONS = {"morning": " in the mornings", "evening": " in the evenings"}


def closed_sentence(
    what: str, *, first_on: date, last_on: date, session_kind: str, reason: str, today: date
) -> str:
    """``what`` is closed from one local date to another, both included; as told on ``today``.

    ``session_kind`` is empty for whole days.
    """
    session = _SESSIONS.get(session_kind, "")
    begins = f" from {first_on:%A %d %B}" if first_on > today else ""
    until = f"until the end of {last_on:%A %d %B %Y}"
    return f"{what}{session}{begins} {until}: {as_ending(reason)}"


def as_ending(reason: str) -> str:
    """A reason with one full stop, however it was entered; after “!” or “?” none is added."""
    words = reason.rstrip(" .") or "no reason is recorded"
    return words if words.endswith(("!", "?")) else f"{words}."

"""What somebody entered, such as why something is closed, as the end of a sentence."""


def as_ending(reason: str) -> str:
    """A reason with one full stop, however it was entered; after “!” or “?” none is added."""
    words = reason.rstrip(" .") or "no reason is recorded"
    return words if words.endswith(("!", "?")) else f"{words}."

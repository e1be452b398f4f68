"""Why something is closed, as the end of a sentence."""


def as_ending(reason: str) -> str:
    """A reason with one full stop, however it was entered; after “!” or “?” none is added."""
    words = reason.rstrip(" .")
    return words if words.endswith(("!", "?")) else f"{words}."

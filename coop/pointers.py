"""Pointers into a document of JSON (RFC 6901)."""


def step(name: str) -> str:
    """A name as a step of a pointer (RFC 6901, section 3)."""
    return name.replace("~", "~0").replace("/", "~1")

"""What free text must not carry to a landowner: ways to reach a person, places on the map."""

import re
from collections.abc import Iterator

WITHHELD = "(text withheld: it held a phone number, an address or a place)"

_FORBIDDEN = {
    "an e-mail address": re.compile(r"[\w.+-]+@[\w-]+\.[\w.-]+"),
    "a phone number": re.compile(
        r"(?<![\d.])(?:\+?1[ .-]?)?(?:\(\d{3}\) ?|\d{3}[ .-])\d{3}[ .-]?\d{4}(?!\d)"
        r"|(?<![\d.-])\d{3}-\d{4}(?![\d-])|\+\d[\d ()-]{7,}\d"
    ),
    "coordinates": re.compile(
        r"[-+]?\d{1,3}\.\d{3,}\D{1,4}[-+]?\d{1,3}\.\d{3,}"
        r"|\d{1,3}\s*°\s*\d{1,2}(?:\.\d+)?\s*['′]"
        r"|\d{1,3}\.\d{3,}\s*°?\s*[NSEW]\b"
    ),
}


def forbidden_in(text: str) -> Iterator[str]:
    """What a text for landowners holds that it must not, named for the person who wrote it."""
    for name, pattern in _FORBIDDEN.items():
        if pattern.search(text):
            yield name


def withheld(text: str) -> str:
    """The text, or a remark in its place when it holds what must not be told."""
    return WITHHELD if any(forbidden_in(text)) else text

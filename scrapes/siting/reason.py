"""One thing looked at of a place for a scrape, as a sentence that a person can check."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One thing looked at. ``holds`` is None where there was nothing to judge by."""

    code: str
    subject: str
    holds: bool | None
    sentence: str
    facts: Mapping[str, Any] = field(default_factory=dict)


def told(code: str, subject: str, sentence: str, **facts: Any) -> Reason:
    """Something told and not judged."""
    return Reason(code=code, subject=subject, holds=None, sentence=sentence, facts=facts)

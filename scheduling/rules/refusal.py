"""What a rule says when it objects: a stable code, a sentence a member can read, its facts."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Refusal:
    """One objection of one rule.

    ``code`` is stable and documented; ``sentence`` is plain words; ``facts`` are the
    figures behind it (JSON values, units in their names). ``overrulable`` says whether a
    manager may set it aside with a reason; safety and access never are.
    """

    code: str
    sentence: str
    facts: Mapping[str, Any] = field(default_factory=dict)
    overrulable: bool = False

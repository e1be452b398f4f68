"""From the drop test's finding to what a review stores: verdict, sentence, figures."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, is_dataclass
from enum import Enum
from typing import Any

import numpy as np

from scrapes.care.models import ReviewVerdict
from scrapes.visits.drop_question import DropVerdict, Finding

LONGEST_SENTENCE = 500

_VERDICTS = {
    Finding.CAMERA: ReviewVerdict.CHECK_CAMERA,
    Finding.DROP: ReviewVerdict.REFRESH,
    Finding.DAYLIGHT_ONLY: ReviewVerdict.REST_STAND,
    Finding.WHOLE_PROPERTY: ReviewVerdict.PROPERTY_WIDE,
    Finding.TOO_LITTLE_KNOWN: ReviewVerdict.UNKNOWN,
}
_HINDERED_BY_A_CAMERA = frozenset({ReviewVerdict.STEADY, ReviewVerdict.UNKNOWN})


def verdict_of(found: DropVerdict, *, camera_at_fault: bool) -> ReviewVerdict:
    """What to do: a camera at fault is looked at, whatever the visits so far say of the scrape."""
    verdict = _VERDICTS.get(found.finding, ReviewVerdict.STEADY)
    if camera_at_fault and verdict in _HINDERED_BY_A_CAMERA:
        return ReviewVerdict.CHECK_CAMERA
    return verdict


def sentence_of(
    found: DropVerdict,
    verdict: ReviewVerdict,
    *,
    at_fault: Iterable[str],
    residue: str | None,
) -> str:
    """The reason in words, the most telling first; names no deer. ``at_fault`` tells of each
    camera to be looked at."""
    if verdict is ReviewVerdict.CHECK_CAMERA:
        parts = [*at_fault, "See to the camera before the deer are judged."]
    else:
        parts = [found.sentences[0], found.sentences[-1]]
        if verdict is ReviewVerdict.REFRESH and residue:
            parts.append(residue)
    return _fitting(parts)


def _fitting(parts: Iterable[str]) -> str:
    """As many whole sentences as there is room for."""
    said = ""
    for part in parts:
        longer = f"{said} {part}".strip()
        if len(longer) > LONGEST_SENTENCE:
            break
        said = longer
    return said


def plain(value: Any) -> Any:
    """A value that JSON can hold; what is not a finite number becomes null."""
    if is_dataclass(value) and not isinstance(value, type):
        value = asdict(value)
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return _plain_number(value.item() if isinstance(value, np.generic) else value)


def _plain_number(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return round(value, 6) if math.isfinite(value) else None
    return value

"""What stored editions have in common: the same figures are one edition, a correction a new one."""

import hashlib
import json
from collections.abc import Callable, Collection, Mapping
from dataclasses import asdict
from datetime import date, datetime
from typing import Any, Protocol, TypeVar
from uuid import UUID

# Two writers of one report are rare; whoever comes second starts from the new edition.
ATTEMPTS = 5


class StoredEdition(Protocol):
    """A row that holds an edition."""

    id: Any
    edition: int
    digest: str


Stored = TypeVar("Stored", bound=StoredEdition)
Counted = TypeVar("Counted")


def write_edition(
    *,
    latest_of: Callable[[], Stored | None],
    count: Callable[[Stored | None], Counted],
    digest: Callable[[Counted], str],
    draft: Callable[[Counted, str, Stored | None], Stored],
    store: Callable[[Stored, Stored | None], Stored | None],
) -> tuple[Stored, bool]:
    """The edition that holds, and whether it was written just now.

    ``count`` makes the figures, with the settings of the latest edition where that is final;
    ``store`` takes a draft under a lock and gives None when somebody wrote an edition
    meanwhile. Raises ``RuntimeError`` when others keep writing.
    """
    for _attempt in range(ATTEMPTS):
        latest = latest_of()
        counted = count(latest)
        fingerprint = digest(counted)
        if latest is not None and latest.digest == fingerprint:
            return latest, False
        # Drawing and paper take time; no lock is held meanwhile.
        stored = store(draft(counted, fingerprint, latest), latest)
        if stored is not None:
            return stored, True
    raise RuntimeError("others keep writing this report")


def plain(figures: Any) -> dict[str, Any]:
    """A dataclass of figures as JSON values: dates and instants in ISO 8601."""
    told: dict[str, Any] = json.loads(json.dumps(asdict(figures), default=_iso, allow_nan=False))
    return told


def digest_without(figures: Mapping[str, Any], passing: Collection[str]) -> str:
    """SHA-256 of the figures without what passes on although nothing was corrected."""
    told = {name: value for name, value in figures.items() if name not in passing}
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def _iso(value: Any) -> str:
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    raise TypeError(f"{type(value).__name__} is no figure")

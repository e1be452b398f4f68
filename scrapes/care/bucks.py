"""Bucks that were taken: told by whichever floor above records harvest."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from properties.land.models import Property


@dataclass(frozen=True, kw_only=True)
class BuckTaken:
    """A buck that was taken, and where: longitude and latitude, None where nobody said.

    ``individual`` is the name given to him in pictures; "" where nobody knows which one he was.
    """

    individual: str
    taken_at: datetime
    place: tuple[float, float] | None = None


BucksTaken = Callable[[Property, datetime, datetime], Iterable[BuckTaken]]

_sources: list[BucksTaken] = []


def register_bucks_taken(source: BucksTaken) -> None:
    """Let a floor above tell which bucks were taken; ``source(land, since, until)``."""
    _sources.append(source)


def bucks_taken(land: Property, *, since: datetime, until: datetime) -> tuple[BuckTaken, ...]:
    """Bucks taken on a property in ``[since, until)``, from all sources."""
    return tuple(buck for source in _sources for buck in source(land, since, until))

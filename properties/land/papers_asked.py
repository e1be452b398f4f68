"""Which papers a property asks of whoever sits there.

Sits know; the land only tells it with each property, so that an outfitter's application can ask
its client before it books.
"""

from collections.abc import Callable
from dataclasses import dataclass

from properties.land.models import Property


@dataclass(frozen=True, kw_only=True)
class PapersAsked:
    """Kinds of paper, by who must hold them on the day of a sit."""

    hunters: tuple[str, ...] = ()
    guests: tuple[str, ...] = ()


PapersOf = Callable[[Property], PapersAsked]

_asked_by: list[PapersOf] = []


def register_papers_asked(papers_of: PapersOf) -> None:
    """Let a floor above tell what it asks for, once when its app is ready."""
    _asked_by.append(papers_of)


def papers_asked(land: Property) -> PapersAsked:
    """``land`` comes with its cooperative, whose settings count too."""
    found = [papers_of(land) for papers_of in _asked_by]
    return PapersAsked(
        hunters=tuple(sorted({kind for one in found for kind in one.hunters})),
        guests=tuple(sorted({kind for one in found for kind in one.guests})),
    )

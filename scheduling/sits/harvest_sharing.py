"""Which of those who sit get one of the places that a plan has left."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Asking:
    """One sit that asks for a place over ``[from_s, until_s)``, in UTC seconds."""

    key: Hashable
    from_s: float
    until_s: float


def places_given(asking: Sequence[Asking], *, left: int) -> frozenset[Hashable]:
    """The keys of those who get one of ``left`` places, served in the order given.

    Whoever asks gets one where fewer than ``left`` of those served before them overlap their
    time: at no instant do more hold a place than there are, and whoever is out together can
    fill no more than is left. Spans that only touch do not overlap. None where none is left.
    """
    given: list[Asking] = []
    for one in asking:
        beside = sum(_overlap(one, other) for other in given)
        if beside < left:
            given.append(one)
    return frozenset(one.key for one in given)


def _overlap(one: Asking, other: Asking) -> bool:
    return one.from_s < other.until_s and other.from_s < one.until_s

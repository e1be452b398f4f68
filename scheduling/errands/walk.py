"""The order in which to call at places on foot: out from one point and back to it.

Exact for few stops (dynamic programming over subsets, Held & Karp 1962); for more, the shortest
of nearest-neighbour walks from the nearest first stops, each untangled by reversing stretches
until none gets shorter (2-opt, Croes 1958; both from memory). Distances are whatever is handed
in, here straight lines, so a fence or a creek makes the walk longer and may change the order.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_EXACT_STOPS = 9
_TRIES = 8
_SHORTER_BY_M = 1e-9


@dataclass(frozen=True, kw_only=True)
class Walk:
    """``order`` of the stops (1 … n; 0 is where the walk begins and ends), its length, and whether
    no other order is shorter."""

    order: tuple[int, ...]
    length_m: float
    is_shortest: bool


def shortest_walk(distances_m: Floats) -> Walk:
    """The walk from place 0 through all others and back.

    ``distances_m`` has shape (n + 1, n + 1), the same both ways. Of the two ways
    round, the one with the shorter first leg. Raises ValueError for distances that are negative,
    differ by direction or are not a square.
    """
    if distances_m.ndim != 2 or distances_m.shape[0] != distances_m.shape[1]:
        raise ValueError("distances must be a square")
    if not np.allclose(distances_m, distances_m.T) or bool((distances_m < 0).any()):
        raise ValueError("distances must be the same both ways and not negative")
    stops = len(distances_m) - 1
    if stops <= MOST_EXACT_STOPS:
        order = _exact(distances_m)
    else:
        firsts = np.argsort(distances_m[0, 1:], kind="stable")[:_TRIES] + 1
        tries = [_untangled(_nearest(distances_m, int(first)), distances_m) for first in firsts]
        order = min(tries, key=lambda one: length_of(one, distances_m))
    if order:
        order = min(order, order[::-1], key=lambda one: (float(distances_m[0, one[0]]), one[0]))
    return Walk(
        order=tuple(order),
        length_m=length_of(order, distances_m),
        is_shortest=stops <= MOST_EXACT_STOPS,
    )


def length_of(order: Sequence[int], distances_m: Floats) -> float:
    """Metres from stop 0 through ``order`` and back to 0."""
    return float(sum(distances_m[first, second] for first, second in pairwise([0, *order, 0])))


def _exact(distances_m: Floats) -> list[int]:
    stops = range(1, len(distances_m))
    # Shortest way from 0 through a set of stops to the last of them, and the stop before it.
    best = {(frozenset([stop]), stop): (float(distances_m[0, stop]), 0) for stop in stops}
    for size in range(2, len(distances_m)):
        for chosen in map(frozenset, combinations(stops, size)):
            for last in chosen:
                rest = chosen - {last}
                best[chosen, last] = min(
                    (best[rest, before][0] + float(distances_m[before, last]), before)
                    for before in rest
                )
    if not stops:
        return []
    left = frozenset(stops)
    stop = min(stops, key=lambda last: best[left, last][0] + float(distances_m[last, 0]))
    order = []
    while left:
        order.append(stop)
        left, stop = left - {stop}, best[left, stop][1]
    return order[::-1]


def _nearest(distances_m: Floats, first: int) -> list[int]:
    order, left = [first], set(range(1, len(distances_m))) - {first}
    while left:
        here = order[-1]
        order.append(min(left, key=lambda stop: (float(distances_m[here, stop]), stop)))
        left.remove(order[-1])
    return order


def _untangled(order: list[int], distances_m: Floats) -> list[int]:
    """2-opt: reverse any stretch whose two new legs are shorter than the two old ones."""
    path, metres = [0, *order, 0], distances_m.tolist()
    better = True
    while better:
        better = False
        for begin, end in combinations(range(1, len(path) - 1), 2):
            before, first, last, after = path[begin - 1], path[begin], path[end], path[end + 1]
            old = metres[before][first] + metres[last][after]
            new = metres[before][last] + metres[first][after]
            if new < old - _SHORTER_BY_M:
                path[begin : end + 1] = path[begin : end + 1][::-1]
                better = True
    return path[1:-1]

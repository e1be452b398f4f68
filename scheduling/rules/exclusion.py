"""Two stands that endanger or spoil each other are never used in one session."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from properties.sessions.kinds import SessionKey

from .refusal import Refusal
from .rows import BoolArray, IntArray, UseRows
from .uses import Use
from .words import session_words

CODE = "neighbour_in_use"


def refusal(
    *, session: SessionKey, uses: Sequence[Use], excluded: Mapping[str, str]
) -> Refusal | None:
    """Is a stand in use that must not be used together with the one asked for?

    ``excluded`` maps the id of each stand excluded in this session to its name.
    """
    for use in uses:
        if use.session == session and use.stand_id in excluded:
            name = excluded[use.stand_id]
            return Refusal(
                code=CODE,
                sentence=f"Stand {name} is in use in {session_words(session)}, and the two are "
                "not used together: their lines of fire or their scent cross.",
                facts={"other_stand_id": use.stand_id, "other_stand": name},
            )
    return None


def rows(*, pair_stand: IntArray, pair_session: IntArray, offered: BoolArray) -> UseRows:
    """A row for each maximal set of stands of which only one may be used in a session.

    ``pair_stand`` of shape (pairs, 2) and ``pair_session`` of shape (pairs,) name two stands
    excluding each other in a session; ``offered`` has shape (stands, sessions).
    """
    possible = offered[pair_stand[:, 0], pair_session] & offered[pair_stand[:, 1], pair_session]
    stands: list[int] = []
    sessions: list[int] = []
    sizes: list[int] = []
    for session in np.unique(pair_session[possible]):
        pairs = pair_stand[possible & (pair_session == session)]
        for clique in maximal_cliques(pairs):
            stands.extend(clique)
            sessions.extend([int(session)] * len(clique))
            sizes.append(len(clique))
    return UseRows(
        code=CODE,
        row=np.repeat(np.arange(len(sizes), dtype=np.int64), np.array(sizes, dtype=np.int64)),
        stand=np.array(stands, dtype=np.int64),
        session=np.array(sessions, dtype=np.int64),
        weight=np.ones(len(stands), dtype=np.int64),
        limit=np.ones(len(sizes), dtype=np.int64),
    )


def maximal_cliques(pairs: IntArray) -> Iterator[tuple[int, ...]]:
    """Every maximal set of mutually excluding stands, in a fixed order.

    The search of Bron and Kerbosch (1973) with a pivot (Tomita et al. 2006), from memory.
    ``pairs`` has shape (pairs, 2).
    """
    neighbours: dict[int, set[int]] = {}
    for one, other in pairs.tolist():
        neighbours.setdefault(one, set()).add(other)
        neighbours.setdefault(other, set()).add(one)
    yield from _grow((), set(neighbours), set(), neighbours)


def _grow(
    clique: tuple[int, ...],
    candidates: set[int],
    done: set[int],
    neighbours: Mapping[int, set[int]],
) -> Iterator[tuple[int, ...]]:
    if not candidates and not done:
        yield tuple(sorted(clique))
        return
    pivot = max(sorted(candidates | done), key=lambda stand: len(candidates & neighbours[stand]))
    for stand in sorted(candidates - neighbours[pivot]):
        around = neighbours[stand]
        yield from _grow((*clique, stand), candidates & around, done & around, neighbours)
        candidates = candidates - {stand}
        done = done | {stand}

"""Which keys of a long table stood in earlier rows, in memory that does not grow with its rows.

Keys are held as 64-bit hashes: sorted runs, joined as they grow (as a log-structured merge tree
does it: O'Neil, Cheng, Gawlick & O'Neil 1996), the long ones in a temporary file. Among ten
million keys two different ones share a hash with a chance of about 3 in a million.
"""

import mmap
import tempfile
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scrapes.cameras.observation_rows import RowFaults

Integers = NDArray[np.int64]

KEYS_IN_MEMORY = 1 << 18
"""A run of this many keys (2 MiB) is written away."""


def mark_seen(faults: RowFaults, ids: Sequence[str], seen: "SeenKeys") -> None:
    """Skip rows whose id stood before, in this batch or an earlier one; remember the others.

    Sound rows only: a faulty row must not bar its corrected twin.
    """
    rows = np.flatnonzero(faults.sound)
    keys = hashed(ids)[rows]
    _, first = np.unique(keys, return_index=True)
    again = np.ones(len(keys), dtype=bool)
    again[first] = False
    again |= seen.counts(keys) > 0
    repeated = np.zeros(len(ids), dtype=bool)
    repeated[rows[again]] = True
    seen.add(keys[~again])
    faults.mark(repeated, "observation_repeated", "The id {} stands twice.", ids)


def hashed(keys: Sequence[str]) -> Integers:
    """Hashes of keys, shape (keys,); the same key gives the same one within a process."""
    return np.fromiter(map(hash, keys), dtype=np.int64, count=len(keys))


class SeenKeys:
    """Counts of keys seen so far, by their hashes."""

    def __init__(self, *, in_memory: int = KEYS_IN_MEMORY) -> None:
        self._in_memory = in_memory
        self._runs: list[Integers] = []
        self._written: list[_WrittenRun] = []

    def counts(self, keys: Integers) -> Integers:
        """How often each key was added before, shape (keys,)."""
        order = np.argsort(keys)
        wanted = keys[order]
        found = np.zeros(len(keys), dtype=np.int64)
        for run in self._runs:
            found += _count(run, wanted)
        for written in self._written:
            found += written.count(wanted)
        counts = np.empty_like(found)
        counts[order] = found
        return counts

    def add(self, keys: Integers) -> None:
        """Remember keys, a repeated one as often as it stands there."""
        if not len(keys):
            return
        run = np.sort(keys)
        while self._runs and len(self._runs[-1]) <= len(run):
            run = np.sort(np.concatenate([self._runs.pop(), run]))
        if len(run) < self._in_memory:
            self._runs.append(run)
        else:
            self._written.append(_WrittenRun(run))


class _WrittenRun:
    """A sorted run in a file of its own, which nobody else can open."""

    def __init__(self, run: Integers) -> None:
        self._length = len(run)
        with tempfile.TemporaryFile() as file:
            run.tofile(file)
            file.flush()
            self._pages = mmap.mmap(file.fileno(), run.nbytes, access=mmap.ACCESS_READ)

    def count(self, wanted: Integers) -> Integers:
        run = np.frombuffer(self._pages, dtype=np.int64, count=self._length)
        counts = _count(run, wanted)
        # Let go of the pages again: they stay in the file, not in this process.
        self._pages.madvise(mmap.MADV_DONTNEED)
        return counts


def _count(run: Integers, wanted: Integers) -> Integers:
    after = np.searchsorted(run, wanted, side="right")
    found: Integers = after - np.searchsorted(run, wanted, side="left")
    return found

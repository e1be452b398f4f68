"""Independent visits out of observations: pictures of one stay at a scrape count once.

Rule: O'Brien, Kinnaird & Wibisono 2003 (30 minutes); the choice is subjective (Sollmann 2018)
and both readings of it are offered. Decided here: **a gap of exactly the interval starts a new
visit** ("at least 30 minutes passed"). Nothing loops over observations in Python: one sort, then
differences.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scrapes.visits.independence import IndependenceRule
from scrapes.visits.settings import VisitSettings

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

UNIDENTIFIED = -1


@dataclass(frozen=True, kw_only=True)
class Visits:
    """Visits in order of scrape, kind, individual and start; all arrays of shape (visits,).

    ``individual`` is :data:`UNIDENTIFIED` where nobody told the deer apart. ``pictures`` is the
    number of observation rows that were collapsed. Instants are UTC seconds since 1970.
    """

    scrape: Integers
    kind: Integers
    individual: Integers
    start_s: Integers
    end_s: Integers
    pictures: Integers

    def __len__(self) -> int:
        return len(self.start_s)

    def taken(self, chosen: Flags | Integers) -> "Visits":
        """Those chosen by a mask or by their positions."""
        return Visits(
            scrape=self.scrape[chosen],
            kind=self.kind[chosen],
            individual=self.individual[chosen],
            start_s=self.start_s[chosen],
            end_s=self.end_s[chosen],
            pictures=self.pictures[chosen],
        )


def independent_visits(
    *,
    scrape: Integers,
    start_s: Integers,
    end_s: Integers | None = None,
    kind: Integers | None = None,
    individual: Integers | None = None,
    settings: VisitSettings,
) -> Visits:
    """Collapse observations to visits per scrape, kind and (where known) individual.

    Arrays of shape (rows,), whole numbers, any order. ``scrape`` and ``kind`` are codes >= 0 of
    the caller's own (kind: a species, say; without it all rows are of one kind); ``individual``
    is a code >= 0 or :data:`UNIDENTIFIED`. ``start_s`` and ``end_s`` are UTC seconds;
    ``end_s`` is for rows that already cover a span, and left out for single pictures.

    Raises ValueError when shapes differ, a code is below its minimum, or a row ends before it
    starts.
    """
    count = len(start_s)
    kind = np.zeros(count, dtype=np.int64) if kind is None else kind
    if individual is None or not settings.by_individual:
        individual = np.full(count, UNIDENTIFIED, dtype=np.int64)
    _check(scrape, start_s, end_s, kind, individual)
    if count == 0:
        return _no_visits()
    visits = _collapse(scrape, kind, individual, start_s, end_s, settings)
    if settings.unidentified_join_known:
        return _join_unidentified(visits, interval_s=settings.interval_s)
    return visits


def _check(
    scrape: Integers, start_s: Integers, end_s: Integers | None, kind: Integers, who: Integers
) -> None:
    columns = [scrape, kind, who] + ([] if end_s is None else [end_s])
    if any(column.shape != start_s.shape for column in columns):
        raise ValueError("all columns of observations must have the same length")
    if not len(start_s):
        return
    if scrape.min() < 0 or kind.min() < 0 or who.min() < UNIDENTIFIED:
        raise ValueError("codes of scrapes, kinds and individuals must not be negative")
    if end_s is not None and bool((end_s < start_s).any()):
        raise ValueError("an observation ends before it starts")


def _collapse(
    scrape: Integers,
    kind: Integers,
    individual: Integers,
    start_s: Integers,
    end_s: Integers | None,
    settings: VisitSettings,
) -> Visits:
    kinds, individuals = int(kind.max()) + 1, int(individual.max()) + 2
    stream = scrape if kinds == 1 else scrape * kinds + kind
    if individuals > 1:
        stream = stream * individuals + (individual + 1)
    origin = int(start_s.min())
    latest = int((start_s if end_s is None else end_s).max())
    span = latest - origin + 1
    stream, streams = _compact(stream, span)

    # Stream and instant in one whole number: sorting plain numbers is several times faster
    # than sorting by several columns, and undoing it needs no index.
    key = stream * span + (start_s - origin)
    if end_s is None:
        key = np.sort(key)
        last_key = key
    else:
        order = np.argsort(key, kind="stable")
        key = key[order]
        # A running maximum cannot leak from one stream into the next: each stream's numbers
        # lie above all of the one before.
        last_key = np.maximum.accumulate((stream * span + (end_s - origin))[order])

    begins = _begins(key, last_key, span, settings)
    first = np.flatnonzero(begins)
    after = np.append(first[1:], len(key))
    visit_stream, start = np.divmod(key[first], span)
    end = last_key[after - 1] - visit_stream * span
    if streams is not None:
        visit_stream = streams[visit_stream]
    place, who = np.divmod(visit_stream, individuals)
    place, what = np.divmod(place, kinds)
    return Visits(
        scrape=place,
        kind=what,
        individual=who - 1,
        start_s=start + origin,
        end_s=end + origin,
        pictures=after - first,
    )


def _compact(stream: Integers, span: int) -> tuple[Integers, Integers | None]:
    """Streams renumbered without holes, where their packed numbers would not fit 63 bits."""
    if (int(stream.max()) + 1) * span < 2**63:
        return stream, None
    streams, compact = np.unique(stream, return_inverse=True)
    return compact.astype(np.int64), streams


def _begins(key: Integers, last_key: Integers, span: int, settings: VisitSettings) -> Flags:
    """Which sorted rows begin a visit."""
    interval = settings.interval_s
    begins = np.empty(len(key), dtype=bool)
    begins[0] = True
    np.greater_equal(key[1:] - last_key[:-1], interval, out=begins[1:])
    # Neighbouring streams can lie closer together than the interval in packed numbers.
    stream = key // span
    begins[1:] |= stream[1:] != stream[:-1]
    if settings.independence_rule == IndependenceRule.SINCE_LAST_PICTURE:
        return begins
    return _begins_since_counted(key, begins, interval)


def _begins_since_counted(key: Integers, begins: Flags, interval: int) -> Flags:
    """The second reading, within the stretches that the first one leaves whole.

    All stretches step forward together: each step finds the next counted row of every stretch
    that still has one, so the steps number the counted rows of the longest stretch.
    """
    counted = begins.copy()
    current = np.flatnonzero(begins)
    limit = np.append(current[1:], len(key))
    while len(current):
        following = np.searchsorted(key, key[current] + interval, side="left")
        inside = following < limit
        current, limit = following[inside], limit[inside]
        counted[current] = True
    return counted


def _join_unidentified(visits: Visits, *, interval_s: int) -> Visits:
    """Drop unidentified visits that run within the interval of an identified one of their kind.

    The identified visit takes over their pictures; its own time stays as it is.
    """
    unknown = np.flatnonzero(visits.individual == UNIDENTIFIED)
    known = np.flatnonzero(visits.individual != UNIDENTIFIED)
    if not len(unknown) or not len(known):
        return visits
    origin = int(visits.start_s.min())
    span = int(visits.end_s.max()) - origin + 2 * interval_s + 2
    place = visits.scrape * (int(visits.kind.max()) + 1) + visits.kind
    known = known[np.argsort(place[known] * span + visits.start_s[known], kind="stable")]
    known_start = place[known] * span + visits.start_s[known] - origin
    running_end = np.maximum.accumulate(place[known] * span + visits.end_s[known] - origin)
    unknown_start = place[unknown] * span + visits.start_s[unknown] - origin
    unknown_end = place[unknown] * span + visits.end_s[unknown] - origin

    # The last identified visit that begins before the unidentified one is out of reach.
    before = np.searchsorted(known_start, unknown_end + interval_s, side="left") - 1
    reached = before >= 0
    reached &= unknown_start - running_end[np.maximum(before, 0)] < interval_s
    host = known[np.searchsorted(running_end, running_end[before[reached]], side="left")]
    joined = unknown[reached]

    pictures = visits.pictures.copy()
    np.add.at(pictures, host, visits.pictures[joined])
    kept = np.ones(len(visits), dtype=bool)
    kept[joined] = False
    return replace(visits, pictures=pictures).taken(kept)


def _no_visits() -> Visits:
    none = np.zeros(0, dtype=np.int64)
    return Visits(scrape=none, kind=none, individual=none, start_s=none, end_s=none, pictures=none)

"""How long a scrape was really watched: the union of its cameras' working time.

Spans are half-open, ``[start, end)``, in UTC seconds: a camera taken down at the instant another
goes up leaves neither a gap nor a second counted twice. A camera-night is 24 h of one scrape
watched by at least one working camera.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Seconds = NDArray[np.int64]

SECONDS_PER_NIGHT = 86_400


@dataclass(frozen=True, kw_only=True)
class Deployment:
    """One camera at one scrape. ``end_s`` is None while it runs.

    ``known_up_to_s`` is the last instant about which anything is known: for a card camera when
    its card was last pulled, for a sending one when it was last heard. None means nothing was
    ever read: such a deployment counts no time at all.
    """

    camera: str
    start_s: int
    end_s: int | None
    known_up_to_s: int | None


@dataclass(frozen=True, kw_only=True)
class Outage:
    """Time in which a camera did not work. ``end_s`` is None while it lasts."""

    camera: str
    start_s: int
    end_s: int | None


@dataclass(frozen=True, kw_only=True)
class Spans:
    """Disjoint half-open spans in rising order, none empty; arrays of shape (spans,)."""

    start_s: Seconds
    end_s: Seconds

    @property
    def total_s(self) -> int:
        return int((self.end_s - self.start_s).sum())

    @property
    def camera_nights(self) -> float:
        return self.total_s / SECONDS_PER_NIGHT


def union(start_s: ArrayLike, end_s: ArrayLike) -> Spans:
    """Merge spans in any order; spans that touch become one, empty ones are left out."""
    start, end = np.asarray(start_s, dtype=np.int64), np.asarray(end_s, dtype=np.int64)
    real = end > start
    order = np.argsort(start[real], kind="stable")
    start, end = start[real][order], end[real][order]
    if not len(start):
        return Spans(start_s=start, end_s=end)
    running = np.maximum.accumulate(end)
    begins = np.append(True, start[1:] > running[:-1])
    last = np.append(np.flatnonzero(begins)[1:], len(start)) - 1
    return Spans(start_s=start[begins], end_s=running[last])


def without(spans: Spans, removed: Spans) -> Spans:
    """What is left of ``spans`` outside ``removed``."""
    if not len(spans.start_s) or not len(removed.start_s):
        return spans
    edges = np.unique(np.concatenate([spans.start_s, spans.end_s, removed.start_s, removed.end_s]))
    start, end = edges[:-1], edges[1:]
    kept = covered(start, spans) & ~covered(start, removed)
    return union(start[kept], end[kept])


def covered(instants: Seconds, spans: Spans) -> NDArray[np.bool_]:
    """Which instants lie inside the spans, shape of ``instants``."""
    if not len(spans.start_s):
        return np.zeros(instants.shape, dtype=bool)
    index = np.searchsorted(spans.start_s, instants, side="right") - 1
    return (index >= 0) & (instants < spans.end_s[np.maximum(index, 0)])


def clipped(spans: Spans, *, start_s: int, end_s: int) -> Spans:
    """The part of ``spans`` inside ``[start_s, end_s)``."""
    return union(np.maximum(spans.start_s, start_s), np.minimum(spans.end_s, end_s))


def working_time(
    *, deployments: Iterable[Deployment], outages: Iterable[Outage], now_s: int
) -> Spans:
    """When at least one camera of a scrape worked and what it saw is known.

    Raises ValueError for a deployment or outage that ends before it starts.
    """
    deployments, outages = tuple(deployments), tuple(outages)
    spans: tuple[Deployment | Outage, ...] = (*deployments, *outages)
    for span in spans:
        if span.end_s is not None and span.end_s < span.start_s:
            raise ValueError(
                f"{type(span).__name__.lower()} of {span.camera} ends before it starts"
            )
    watched = [
        _working(camera, deployments, outages, now_s=now_s)
        for camera in sorted({deployment.camera for deployment in deployments})
    ]
    if not watched:
        return union([], [])
    return union(
        np.concatenate([spans.start_s for spans in watched]),
        np.concatenate([spans.end_s for spans in watched]),
    )


def _working(
    camera: str, deployments: Iterable[Deployment], outages: Iterable[Outage], *, now_s: int
) -> Spans:
    mine = [
        item for item in deployments if item.camera == camera and item.known_up_to_s is not None
    ]
    deployed = union(
        [item.start_s for item in mine],
        [_end_of_knowledge(item, now_s=now_s) for item in mine],
    )
    out = [item for item in outages if item.camera == camera]
    broken = union(
        [item.start_s for item in out],
        [now_s if item.end_s is None else item.end_s for item in out],
    )
    return without(deployed, broken)


def _end_of_knowledge(deployment: Deployment, *, now_s: int) -> int:
    known = deployment.start_s if deployment.known_up_to_s is None else deployment.known_up_to_s
    end = now_s if deployment.end_s is None else deployment.end_s
    return min(end, known, now_s)


def known_up_to(deployments: Iterable[Deployment], *, now_s: int) -> int | None:
    """The last instant about which any of the cameras can speak; None where none can."""
    ends = [
        _end_of_knowledge(deployment, now_s=now_s)
        for deployment in deployments
        if deployment.known_up_to_s is not None
    ]
    return max(ends) if ends else None


def seconds_within(spans: Spans, *, start_s: ArrayLike, end_s: ArrayLike) -> Seconds:
    """Watched seconds inside each of many windows ``[start_s, end_s)``, shape (windows,)."""
    return _seconds_before(spans, np.asarray(end_s, dtype=np.int64)) - _seconds_before(
        spans, np.asarray(start_s, dtype=np.int64)
    )


def _seconds_before(spans: Spans, instants: Seconds) -> Seconds:
    if not len(spans.start_s):
        return np.zeros(instants.shape, dtype=np.int64)
    done = np.append(0, np.cumsum(spans.end_s - spans.start_s))
    index = np.searchsorted(spans.start_s, instants, side="right") - 1
    at = np.maximum(index, 0)
    partial = np.minimum(instants, spans.end_s[at]) - spans.start_s[at]
    return np.where(index < 0, 0, done[at] + partial)


def camera_nights_within(
    spans: Spans, *, start_s: ArrayLike, end_s: ArrayLike
) -> NDArray[np.float64]:
    """Camera-nights inside each of many windows, shape (windows,)."""
    return seconds_within(spans, start_s=start_s, end_s=end_s) / SECONDS_PER_NIGHT

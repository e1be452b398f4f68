"""Metrics in the Prometheus text format: counters of this process, readings of the database.

Queue lag, age of the outbox and gaps of plans lie in the database, where every process sees
the same: rooms register a reading for each, taken when the page is asked for. What leaves no
row (refusals, requests) is counted where it happens; with several processes,
``PROMETHEUS_MULTIPROC_DIR`` names the folder in which they share their counts.
"""

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import REGISTRY, Collector

REFUSALS = Counter("coop_refusals", "Objections of house rules to bookings, by rule.", ["code"])
REQUEST_SECONDS = Histogram(
    "coop_request_seconds", "Time to answer a request.", ["method", "route", "status"]
)

Values = Iterable[tuple[Mapping[str, str], float]]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One gauge read from the database: ``take(now)`` yields label values and the value."""

    name: str
    help: str
    labels: tuple[str, ...]
    take: Callable[[datetime], Values]


_readings: dict[str, Reading] = {}


def register_reading(
    name: str,
    help: str,
    take: Callable[[datetime], Values],
    *,
    labels: tuple[str, ...] = (),
) -> None:
    """Tell of a gauge; safe to run twice. ``name`` ends with its unit where it has one."""
    _readings[name] = Reading(name=name, help=help, labels=labels, take=take)


class _Readings(Collector):
    def __init__(self, now: datetime) -> None:
        self._now = now

    def collect(self) -> Iterator[GaugeMetricFamily]:
        for reading in _readings.values():
            family = GaugeMetricFamily(reading.name, reading.help, labels=reading.labels)
            for labels, value in reading.take(self._now):
                family.add_metric([labels[label] for label in reading.labels], value)
            yield family


def exposition(*, now: datetime | None = None) -> bytes:
    """Every counter and reading as Prometheus text."""
    readings = CollectorRegistry()
    readings.register(_Readings(now or timezone.now()))
    return _counted() + generate_latest(readings)


def _counted() -> bytes:
    if "PROMETHEUS_MULTIPROC_DIR" not in os.environ:
        return generate_latest(REGISTRY)
    shared = CollectorRegistry()
    MultiProcessCollector(shared)
    return generate_latest(shared)

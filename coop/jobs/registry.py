"""Which jobs exist and when each is due; rooms register theirs when their app is ready."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import IntEnum
from typing import Any, Protocol
from uuid import UUID


class Urgency(IntEnum):
    """Whose turn is first: the lower is taken up before the higher, however long that waited.

    URGENT is for people who may be in danger or stand before closed ground, and for nothing
    that takes long: such jobs have a queue of their own. SLOW is for whatever takes seconds and
    more, or may as well be done an hour later.
    """

    URGENT = 0
    ORDINARY = 1
    SLOW = 2


class JobContext(Protocol):
    """What a handler is given: its parameters, the clock's answer, and a way to report."""

    parameters: Mapping[str, Any]
    now: datetime
    remembered: Mapping[str, Any]
    """What an attempt before this one remembered; empty where none did."""

    def remember(self, **facts: Any) -> None:
        """Keep, in the transaction of an effect, that it was had: the next attempt is told.

        Raises ``JobCancelled``, which undoes the transaction, when the lease passed on: of two
        workers that believe to hold a run only one leaves an effect.
        """

    def report(self, progress_pct: int, note: str = "") -> None:
        """Store progress and renew the lease; raises ``JobCancelled`` when asked to stop.

        A note that differs from the one before is a line of the run's log.
        """

    def log(self, text: str) -> None:
        """Write a line of the run's log, of at most 300 characters."""

    def stop_if_superseded(self) -> None:
        """End this run, raising ``JobCancelled``, if a later one of its name and scope is due."""


JobHandler = Callable[[JobContext], Mapping[str, Any]]


@dataclass(frozen=True, kw_only=True)
class DueJob:
    """A run that a schedule finds due; (name, scope, period) exists once."""

    name: str
    scope: str
    period: str
    property_id: UUID | None = None
    parameters: Mapping[str, Any] = field(default_factory=dict)


Schedule = Callable[[datetime], Iterable[DueJob]]

_handlers: dict[str, JobHandler] = {}
_urgencies: dict[str, Urgency] = {}
_schedules: dict[str, Schedule] = {}


def register_job(name: str, handler: JobHandler, *, urgency: Urgency = Urgency.ORDINARY) -> None:
    """Tell which function does the work of jobs called ``name``; safe to run twice."""
    _handlers[name] = handler
    _urgencies[name] = urgency


def register_schedule(name: str, schedule: Schedule) -> None:
    """Tell when jobs called ``name`` are due; called at every tick, so it only looks."""
    _schedules[name] = schedule


def handler_of(name: str) -> JobHandler:
    """The handler of a job; raises :class:`LookupError` for a name nobody registered."""
    if name not in _handlers:
        raise LookupError(f"no handler is registered for the job {name!r}")
    return _handlers[name]


def job_names() -> tuple[str, ...]:
    return tuple(sorted(_handlers))


def urgency_of(name: str) -> Urgency:
    return _urgencies.get(name, Urgency.ORDINARY)


def names_of(urgency: Urgency) -> tuple[str, ...]:
    """The jobs that were registered with an urgency."""
    return tuple(sorted(name for name, each in _urgencies.items() if each is urgency))


def due_at(now: datetime, *, urgent: bool | None = None) -> Iterable[DueJob]:
    """Everything that any schedule finds due at ``now``, the urgent first.

    ``urgent`` asks only the schedules of urgent jobs, or only those of the others.
    """
    for name in sorted(_schedules, key=urgency_of):
        if urgent is None or urgent is (urgency_of(name) is Urgency.URGENT):
            yield from _schedules[name](now)

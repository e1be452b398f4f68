"""Closed ground and the sits on it: which a closure meets, and what was done about it."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from coop.jobs.models import JobRun, JobState
from coop.outbox.models import Message
from properties.land.models import Closure
from properties.people.models import Person
from properties.stands.closed_ground import stands_reached
from properties.stands.models import Stand
from scheduling.sits.closure_models import ClosedSit, ClosureOutcome
from scheduling.sits.closure_queries import closures_in
from scheduling.sits.models import Sit, SitSpan

ToldBeside = Callable[[Closure, datetime], Sequence[str]]
"""Of a closure acted on at an instant: how the keys of letters begin, for each person met there
who was not on a stand."""

_told_beside: list[ToldBeside] = []


def register_told_beside(source: ToldBeside) -> None:
    """Let a room to the right tell whom a closure met beside sits; registered once."""
    if source not in _told_beside:
        _told_beside.append(source)


@dataclass(frozen=True, kw_only=True)
class Letter:
    """One letter about a closed sit, without its address: how it stands and when it left."""

    state: str
    sent_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class MetSit:
    """One sit that a closure met, with the letters that told of it."""

    sit: Sit
    was_out: bool
    letters: tuple[Letter, ...]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What was done about a closure. Without ``acted_at`` it waits to be acted on.

    ``met_beside`` are the letters to each person who was out there without a sit on a closed
    stand. ``run`` is the run of the rotation that has seen the ground closed; None where
    nothing was to be planned, or where the run is not on record any more.
    """

    closure: Closure
    acted_at: datetime | None
    stands: tuple[Stand, ...]
    met: tuple[MetSit, ...]
    met_beside: tuple[tuple[Letter, ...], ...]
    run: JobRun | None


def sits_on(closure: Closure) -> QuerySet[Sit]:
    """Every sit on the closed ground in the closed sessions, whatever became of it."""
    sits = Sit.objects.filter(
        property=closure.property_id, local_date__range=(closure.first_on, closure.last_on)
    )
    if closure.session_kind:
        sits = sits.filter(span__in=[closure.session_kind, SitSpan.ALL_DAY])
    if closure.part is None:
        return sits
    return sits.filter(stand__in=[stand.id for stand in stands_on(closure)])


def stands_on(closure: Closure) -> tuple[Stand, ...]:
    """Stands in use that the closure concerns, by name."""
    land = closure.property
    stands = Stand.objects.filter(property=land, retired_at=None).order_by("name", "id")
    reached = stands_reached(closure, land=land, stands=stands)
    return tuple(stand for stand in stands if stand.id in reached)


def closure_over(sit: Sit) -> Closure | None:
    """The first closure in force over a sit's ground and session; None: it is open."""
    for closure in closures_in([sit.property_id], sit.local_date, sit.local_date):
        if sits_on(closure).filter(id=sit.id).exists():
            return closure
    return None


def outcome_of(closure: Closure) -> Outcome:
    """What was done about a closure, as it stands now."""
    row = ClosureOutcome.objects.filter(closure=closure).first()
    met = list(
        ClosedSit.objects.filter(closure=closure)
        .select_related("sit__stand", "sit__person", "sit__host", "sit__outfitter")
        .order_by("sit__local_date", "sit__stand__name", "id")
    )
    return Outcome(
        closure=closure,
        acted_at=row.acted_at if row else None,
        stands=stands_on(closure),
        met=tuple(
            MetSit(sit=one.sit, was_out=one.was_out, letters=_letters(one.once_key)) for one in met
        ),
        met_beside=_met_beside(closure, row.acted_at) if row else (),
        run=_run(row.run_id) if row and row.run_id else None,
    )


def told_people(met: Iterable[ClosedSit]) -> list[Person]:
    """Those who held the sits, and the hosts of guests, each once."""
    found: dict[UUID, Person] = {}
    for one in met:
        for person in (one.sit.person, one.sit.host):
            if person is not None:
                found[person.id] = person
    return list(found.values())


def _met_beside(closure: Closure, acted_at: datetime) -> tuple[tuple[Letter, ...], ...]:
    return tuple(_letters(key) for source in _told_beside for key in source(closure, acted_at))


def _letters(once_key: str) -> tuple[Letter, ...]:
    rows = Message.objects.filter(once_key__startswith=f"{once_key}:").order_by("id")
    return tuple(Letter(state=row.state, sent_at=row.sent_at) for row in rows)


def _run(run_id: UUID) -> JobRun | None:
    """The run, or the later one for which it stopped before it was done."""
    run = JobRun.objects.filter(id=run_id).first()
    if run is None or run.state != JobState.CANCELLED:
        return run
    later = JobRun.objects.filter(name=run.name, scope=run.scope, created_at__gt=run.created_at)
    return later.exclude(state=JobState.CANCELLED).order_by("created_at").first() or run

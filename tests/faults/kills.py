"""Workers killed with signal 9 in the middle of their work: each job leaves one effect.

Eight children of one worker are brought to the middle of eight works of four kinds: drafts of
the optimiser, monthly reports, reminders (the job, and its letter on the way), events to
receivers. Then all are killed at once: in turn the children alone, and the worker with them.
Whoever keeps the worker starts it again. Letters go to a mail server of this run that takes
them, or does not, and holds its answer back; events to a receiver that holds its answer back.
The first round has no beat, so no sweep: nothing may be resumed, which shows what resumes it.
"""

import os
import time
from collections import Counter, defaultdict
from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.utils import timezone

from coop.access.actors import system_actor
from coop.jobs import pulse, services
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from coop.outbox.models import Message, MessageState
from coop.outbox.webhooks import services as webhooks
from coop.outbox.webhooks.models import DeliveryState, WebhookDelivery, WebhookEndpoint
from coop.reports import month_job
from coop.reports.models import MonthlyReport
from properties.land.models import Cooperative, Property
from properties.sessions.models import Season
from scheduling.errands import jobs as errand_jobs
from scheduling.errands.models import ErrandKind
from scheduling.errands.opening_services import open_errand
from scheduling.rotation import jobs as rotation_jobs
from scheduling.rotation.models import RotationPlan
from scheduling.sits.models import SitRequest
from tests.cast import Cast, make_cast, make_member, make_property, make_stand
from tests.faults import machine, one
from tests.faults.ends import Ends, listening
from tests.faults.held import line_of
from tests.faults.rows import Row, at_least, at_most, exactly
from tests.faults.waiting import never, until
from tests.scheduling.sits.stage import give_fits

ROUNDS, AT_ONCE = 7, 8
RESUMED_WITHIN_S = 30
HELD_WITHIN_S = 180
DONE_WITHIN_S = 180
TEST_EVENT = "webhook.test"


@dataclass(kw_only=True)
class Round:
    """What one round is about: runs, and ids of letters and events."""

    runs: list[JobRun]
    messages: list[UUID]
    deliveries: list[UUID]
    killed_at: float = 0.0
    with_parent: bool = False

    @property
    def works(self) -> int:
        return len(self.runs) + len(self.messages) + len(self.deliveries)


def rows() -> Iterable[Row]:
    cast = make_cast()
    ends = Ends()
    folder = one.folder()
    held = folder / "held"
    held.mkdir()
    os.environ["FAULTS_HELD"] = str(held)
    rounds: list[Round] = []
    killed: Counter[str] = Counter()
    with ExitStack() as over:
        address = over.enter_context(listening(ends, smtp_port=settings.EMAIL_PORT))
        endpoints = _endpoints(cast, address)
        worker = KeptWorker(folder)
        over.callback(lambda: worker.process.kill())
        for number in range(ROUNDS):
            ends.takes_letters = number % 2 == 0
            made = _begin(cast, number, endpoints)
            rounds.append(made)
            until(
                lambda made=made: _all_held(made, held, ends),
                within_s=HELD_WITHIN_S,
                what=f"round {number} is in the middle of its works: {_state(made, held, ends)}",
            )
            made.killed_at = time.time()
            made.with_parent = number % 2 == 0
            killed[worker.kill(with_parent=made.with_parent)] += made.works
            if number == 0:
                lapsed_s = 1.5 * pulse.LEASE.total_seconds()
                never(lambda made=made: _resumed(made, ends), for_s=lapsed_s)
                left = made.works - len(_resumed(made, ends))
                yield exactly("kills_control_left_without_sweep", left, "works", made.works)
                for beat_number in (1, 2):
                    over.callback(machine.beat(folder, number=beat_number).kill)
            until(
                lambda made=made: _done(made),
                within_s=DONE_WITHIN_S,
                what=f"round {number} is done",
            )
        ends.over.set()
        until(_nothing_is_left, within_s=60, what="nothing is left to do")
    yield at_least("kills_workers_killed", sum(killed.values()), "children in mid-work", 50)
    yield exactly("kills_kinds", len(killed), "ways to kill", 2)
    yield from _effects(rounds, ends)
    yield from _resumption(rounds[1:], ends)


def _effects(rounds: list[Round], ends: Ends) -> Iterable[Row]:
    runs = [JobRun.objects.get(id=run.id) for made in rounds for run in made.runs]
    by_name: dict[str, list[JobRun]] = defaultdict(list)
    for run in runs:
        by_name[run.name].append(run)
    undone = sum(run.state != JobState.DONE or run.attempts != 2 for run in runs)
    yield exactly("kills_jobs_not_done_by_their_second_try", undone, "jobs", 0)
    drafts = by_name[rotation_jobs.RECOMPUTE]
    yield exactly("kills_optimiser_drafts", RotationPlan.objects.count(), "drafts", len(drafts))
    reports = by_name[month_job.NAME]
    yield exactly("kills_report_editions", MonthlyReport.objects.count(), "editions", len(reports))
    messages = Message.objects.all()
    errands = len(by_name[errand_jobs.REMIND])
    yield exactly(
        "kills_reminders_written",
        messages.exclude(once_key__startswith="held:").count(),
        "letters",
        errands,
    )
    yield exactly(
        "kills_letters_unsent", messages.exclude(state=MessageState.SENT).count(), "letters", 0
    )
    letters = [f"<{message}@cooperative.invalid>" for made in rounds for message in made.messages]
    missing = sum(not ends.letters[name] for name in letters)
    yield exactly("kills_letters_lost", missing, "letters", 0)
    copies = [len(taken) for taken in ends.letters.values()]
    # Each letter met one crash, or none.
    yield at_most("kills_letter_copies_most", max(copies), "copies under one Message-ID", 2)
    doubled = sum(each > 1 for each in copies)
    yield Row(
        name="kills_letters_doubled",
        value=doubled,
        unit="letters",
        goal="at least 1, else no crash came after the letter was taken",
        holds=doubled >= 1,
    )
    known = {
        f"<{message}@cooperative.invalid>" for message in messages.values_list("id", flat=True)
    }
    yield exactly("kills_letters_of_unknown_id", len(set(ends.letters) - known), "letters", 0)
    deliveries = WebhookDelivery.objects.all()
    undelivered = deliveries.exclude(state=DeliveryState.DELIVERED).count()
    yield exactly("kills_events_undelivered", undelivered, "events", 0)
    ids = {row.message_id for row in deliveries}
    yield exactly("kills_events_of_unknown_id", len(set(ends.events) - ids), "events", 0)
    most = max(len(taken) for taken in ends.events.values())
    yield at_most("kills_event_copies_most", most, "copies under one id", 2)


def _resumption(rounds: list[Round], ends: Ends) -> Iterable[Row]:
    """How long after the kill each work was taken up again: the longest, by kind and by what
    was killed. A worker that was killed itself had to start first."""
    longest: dict[str, float] = defaultdict(float)
    for made in rounds:
        tries = [(run.name.partition(".")[0], _second_start(run).timestamp()) for run in made.runs]
        for message in made.messages:
            tried = ends.letters_tried[f"<{message}@cooperative.invalid>"]
            tries.append(("letters", tried[1]))
        for delivery in made.deliveries:
            tries.append(("webhooks", ends.events[f"msg_{delivery.hex}"][1]))
        for kind, again in tries:
            name = f"kills_{'worker' if made.with_parent else 'child'}_{kind}_resumed_after"
            longest[name] = max(longest[name], again - made.killed_at)
    for name, seconds in sorted(longest.items()):
        yield at_most(name, seconds, "s at most", RESUMED_WITHIN_S)


def _second_start(run: JobRun) -> datetime:
    again = JobRun.objects.get(id=run.id).started_at
    assert again is not None
    return again


class KeptWorker:
    """A worker of eight children and two more, started again when it was killed."""

    def __init__(self, folder: Any) -> None:
        self._folder = folder
        self.process = self._start()

    def kill(self, *, with_parent: bool) -> str:
        if not with_parent:
            self.process.kill_children()
            return "children"
        self.process.kill()
        self.process = self._start()
        return "worker and children"

    def _start(self) -> machine.Process:
        return machine.worker(
            self._folder / "worker.log", at_once=AT_ONCE + 2, application="tests.faults.held"
        )


def _begin(cast: Cast, number: int, endpoints: list[WebhookEndpoint]) -> Round:
    """Two drafts, two reports, a reminder and a letter, two events; rung for by their commits."""
    now = timezone.now()
    runs = []
    for name in ("first", "second"):
        land = _ground(f"Round {number} {name}", now)
        runs.append(_ask(rotation_jobs.RECOMPUTE, number, now, properties=[str(land.id)]))
        runs.append(
            _ask(month_job.NAME, number, now, property=str(land.id), month=_last_month(now))
        )
    open_errand(
        actor=system_actor("faults"),
        kind=ErrandKind.TRIM,
        thing=make_stand(cast.north, f"Stand of round {number}"),
        reason="A limb hangs low.",
        now=now,
    )
    runs.append(_ask(errand_jobs.REMIND, number, now))
    letter = outbox.write_message(
        once_key=f"held:{number}",
        recipient=f"reader{number}@example.org",
        subject="A notice",
        text="On its way.",
        now=now,
        urgent=True,
    )
    events = [
        webhooks.send_test(actor=cast.actor(cast.manager), endpoint=endpoint, now=now)
        for endpoint in endpoints
    ]
    return Round(runs=runs, messages=[letter.id], deliveries=[event.id for event in events])


def _ask(name: str, number: int, now: datetime, **parameters: Any) -> JobRun:
    # A scope of its own, so that no run supersedes another; it ends with the line to be held at.
    scope = f"{uuid4()}@{line_of(number, name)}"
    return services.enqueue(name=name, now=now, scope=scope, parameters=parameters)


def _ground(name: str, now: datetime) -> Property:
    """A property of a cooperative of its own, with something to plan."""
    cooperative = Cooperative.objects.create(name=name)
    land = make_property(cooperative, name, -91.5, 43.2)
    today = now.date()
    Season.objects.create(
        property=land,
        name="Bow",
        first_on=today - timedelta(days=30),
        last_on=today + timedelta(days=60),
        weapons=["bow"],
    )
    stands = [
        make_stand(
            land,
            f"Stand {letter}",
            latitude=land.latitude + 0.006 * place,
            last_inspected_on=today - timedelta(days=10),
        )
        for place, letter in enumerate("ABC")
    ]
    for stand in stands:
        give_fits(stand, [today + timedelta(days=day) for day in range(8)])
    for person in ("Ann Hunter", "Ben Hunter", "Cal Hunter"):
        member = make_member(cooperative, person, land)
        SitRequest.objects.create(
            property=land,
            person=member,
            first_on=today + timedelta(days=1),
            last_on=today + timedelta(days=6),
            wanted_sits=2,
        )
    return land


def _last_month(now: datetime) -> str:
    return f"{date(now.year, now.month, 1) - timedelta(days=1):%Y-%m}"


def _all_held(made: Round, held: Any, ends: Ends) -> bool:
    return _state(made, held, ends) == made.works


def _state(made: Round, held: Any, ends: Ends) -> int:
    """How many works of a round are in their middle."""
    runs = sum((held / str(run.id)).exists() for run in made.runs)
    letters = sum(f"<{each}@cooperative.invalid>" in ends.letters_tried for each in made.messages)
    events = sum(f"msg_{each.hex}" in ends.events for each in made.deliveries)
    return runs + letters + events


def _resumed(made: Round, ends: Ends) -> list[object]:
    again: list[object] = [run for run in made.runs if JobRun.objects.get(id=run.id).attempts > 1]
    again += [
        each
        for each in made.messages
        if len(ends.letters_tried[f"<{each}@cooperative.invalid>"]) > 1
    ]
    return again + [each for each in made.deliveries if len(ends.events[f"msg_{each.hex}"]) > 1]


def _done(made: Round) -> bool:
    ids = [run.id for run in made.runs]
    letters = Message.objects.filter(id__in=made.messages, state=MessageState.SENT)
    events = WebhookDelivery.objects.filter(id__in=made.deliveries, state=DeliveryState.DELIVERED)
    return (
        JobRun.objects.filter(id__in=ids, state=JobState.DONE).count() == len(ids)
        and letters.count() == len(made.messages)
        and events.count() == len(made.deliveries)
    )


def _nothing_is_left() -> bool:
    """Neither a job nor a letter that a job wrote as its last deed."""
    runs = JobRun.objects.filter(state__in=[JobState.QUEUED, JobState.RUNNING])
    letters = Message.objects.filter(state=MessageState.WAITING)
    return not runs.exists() and not letters.exists()


def _endpoints(cast: Cast, address: str) -> list[WebhookEndpoint]:
    return [
        webhooks.register_endpoint(
            actor=cast.actor(cast.manager),
            property_id=cast.north.id,
            fields={"url": f"{address}/{number}", "event_types": [TEST_EVENT]},
            now=timezone.now(),
        )[0]
        for number in range(2)
    ]

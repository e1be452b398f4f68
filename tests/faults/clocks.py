"""Clocks that jump an hour, and the two nights on which local clocks do: each reminder once.

The product takes its time from outside (``now``), so the clock is handed in tick by tick:
what the schedules find due is queued, run and sent at that instant. The same happenings under a
steady clock, in a zone that never changes, tell what has to leave. Each world is built in a
transaction that is undone. The control takes off what makes a reminder one: the period of its
run, and the memory of the day on which it was sent.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime, time, timedelta
from unittest import mock

from django.core import mail
from django.db import transaction
from django.test.utils import override_settings

from coop.access.actors import system_actor
from coop.jobs import registry, services
from coop.outbox import preferences
from coop.outbox import services as outbox
from coop.outbox.models import Message, MessageState
from scheduling.errands import jobs as errand_jobs
from scheduling.errands import reminder_services
from scheduling.errands.models import ErrandKind
from scheduling.errands.opening_services import open_errand
from scheduling.sits import overdue_jobs
from scheduling.sits.models import Sit
from tests.cast import make_cast, make_stand
from tests.faults.rows import Row, at_least, exactly

TICK = timedelta(minutes=10)
HOUR = timedelta(hours=1)
LASTS = timedelta(days=5)
AUTUMN = datetime(2025, 11, 1, 15, tzinfo=UTC)  # US clocks go back in the night that follows
SPRING = datetime(2026, 3, 7, 15, tzinfo=UTC)  # and forward in this one
UNCHANGING = "Etc/GMT+6"
CHANGING = "America/Chicago"
SCHEDULES = {
    errand_jobs.REMIND: errand_jobs.reminders_due,
    overdue_jobs.WATCH_OVERDUE: overdue_jobs.overdue_due,
}
Clock = Callable[[datetime], Iterator[datetime]]


def rows() -> Iterable[Row]:
    steady = {first: _letters(first, UNCHANGING, _steady) for first in (AUTUMN, SPRING)}
    # Three rungs of the ladder and two reminders.
    yield exactly("clocks_letters", sum(steady[AUTUMN].values()), "letters", 5)
    jumped = _letters(AUTUMN, UNCHANGING, _jumping)
    cases = {
        "hour_back_and_forward": _apart(jumped, steady[AUTUMN]),
        "autumn_night": _apart(_letters(AUTUMN, CHANGING, _steady), steady[AUTUMN]),
        "spring_night": _apart(_letters(SPRING, CHANGING, _steady), steady[SPRING]),
    }
    for name, more_or_less in cases.items():
        wrong = sum(more_or_less.values())
        yield exactly(f"clocks_{name}", wrong, "letters too many or missing", 0)
    with (
        mock.patch.object(reminder_services, "_is_due", return_value=True),
        mock.patch.object(services, "enqueue", _enqueue_without_period(services.enqueue)),
    ):
        doubled = _letters(AUTUMN, UNCHANGING, _jumping, to_the_last=False) - steady[AUTUMN]
    yield at_least("clocks_control_doubled", sum(doubled.values()), "letters too many", 1)


def _letters(
    first: datetime, zone: str, clock: Clock, *, to_the_last: bool = True
) -> Counter[tuple[str, str]]:
    """What left, to whom and about what, in five days; each letter counts by itself."""
    local_memory = "django.core.mail.backends.locmem.EmailBackend"
    with (
        transaction.atomic(),
        override_settings(EMAIL_BACKEND=local_memory),
        mock.patch.object(registry, "_schedules", SCHEDULES),
    ):
        mail.outbox = []
        _world(first, zone)
        for now in clock(first):
            services.enqueue_due(now=now)
            for run_id in services.waiting(now=now):
                run = services.run_job(run_id=run_id, now=now)
                assert run is None or run.state == "done", run.error
            outbox.drain(now=now)
        unsent = Message.objects.exclude(state=MessageState.SENT).count()
        assert not (unsent and to_the_last), f"{unsent} letters stayed"
        left = Counter(
            (letter.to[0], subject) for letter in mail.outbox for subject in _subjects(letter)
        )
        transaction.set_rollback(True)
    return left


def _subjects(letter: mail.EmailMessage) -> list[str]:
    """The notices of a letter; a digest holds several, each under its own subject line."""
    if not letter.extra_headers["Message-ID"].startswith("<digest-"):
        return [str(letter.subject)]
    return [part.strip().splitlines()[0] for part in str(letter.body).split("----------")]


def _world(first: datetime, zone: str) -> None:
    """An errand nobody does, a manager who reads at half past two at night, a hunter who is
    not back."""
    cast = make_cast()
    land = cast.north
    land.time_zone = zone
    land.save()
    stand = make_stand(land, "Ridge ladder")
    # The names of the cast hold a part of an id; letters are compared between worlds.
    for person in (cast.manager, cast.member, cast.coordinator):
        person.email = f"{person.name.split()[0].lower()}@example.org"
        person.save()
    open_errand(
        actor=system_actor("faults"),
        kind=ErrandKind.TRIM,
        thing=stand,
        reason="A limb hangs low.",
        now=first,
    )
    preferences.set_preference(
        email=cast.manager.email,
        fields={"channel": "digest", "digest_at": time(2, 30), "time_zone": zone},
    )
    Sit.objects.create(
        property=land,
        stand=stand,
        person=cast.member,
        local_date=first.date(),
        span="evening",
        starts_at=first + 5 * HOUR,
        ends_at=first + 8 * HOUR,
        state="checked_in",
        checked_in_at=first + 5 * HOUR,
    )


def _steady(first: datetime) -> Iterator[datetime]:
    for number in range(LASTS // TICK):
        yield first + number * TICK


def _jumping(first: datetime) -> Iterator[datetime]:
    """An hour back in the middle of the ladder and again after the first reminders, each put
    right hours later; then an hour forward, and put right."""
    jumps = (
        (first + 9 * HOUR, -HOUR),
        (first + 15 * HOUR, timedelta(0)),
        (first + 21.6 * HOUR, -HOUR),
        (first + 30 * HOUR, timedelta(0)),
        (first + 44.5 * HOUR, HOUR),
        (first + 69.6 * HOUR, timedelta(0)),
    )
    for true in _steady(first):
        wrong = [by for since, by in jumps if since <= true]
        yield true + (wrong[-1] if wrong else timedelta(0))


def _apart(some: Counter[tuple[str, str]], others: Counter[tuple[str, str]]) -> Counter[object]:
    return Counter((some - others) + (others - some))


def _enqueue_without_period(enqueue: Callable[..., object]) -> Callable[..., object]:
    def write(*, period: str | None = None, **told: object) -> object:
        return enqueue(**told)

    return write

"""The local runner: drains the same rows with the same handlers where there is no broker."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from coop.jobs import services
from coop.jobs.models import JobRun

BANNER = (
    "No broker is configured (COOP_REDIS_URL): a local runner in one process does the jobs "
    "one after another, from the same rows and with the same handlers and retries."
)


@dataclass(frozen=True, kw_only=True)
class Drained:
    """What one pass did: job runs finished, facts handled, messages sent, events delivered."""

    runs: int
    facts: int
    messages: int
    deliveries: int = 0

    @property
    def nothing(self) -> bool:
        return not (self.runs or self.facts or self.messages or self.deliveries)


def drain_once(
    *,
    drain_outbox: Callable[[], tuple[int, int]],
    deliver: Callable[[], int] = lambda: 0,
    between: Callable[[], object] = lambda: None,
    on_run: Callable[[JobRun], None] | None = None,
    clock: Callable[[], datetime] = timezone.now,
) -> Drained:
    """Hand on the outbox, run every job that is due by ``clock``, then deliver events.

    After each job the outbox is handed on again, ``between`` may queue what has become due, and
    whatever is urgent comes next: of many slow jobs only the one that runs is waited for.
    Events come last: their receivers may be slow, and nothing of ours waits for them.
    """
    facts, messages = drain_outbox()
    finished = 0
    while (run := services.run_next(now=clock())) is not None:
        finished += 1
        if on_run:
            on_run(run)
        between()
        more_facts, more_messages = drain_outbox()
        facts, messages = facts + more_facts, messages + more_messages
    return Drained(runs=finished, facts=facts, messages=messages, deliveries=deliver())

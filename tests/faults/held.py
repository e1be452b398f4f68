"""The product's own Celery application, held at named lines of its first attempts.

A worker that loads this stops dead, as a slow machine would, in the middle of jobs of the kinds
that are killed: after some progress, inside the transaction of the effect, or with the effect
committed and the run not yet ended, in turn. It says so by a file, and waits to be killed.
A second attempt is held nowhere. Lives in the tests; the product has no such switch.
"""

import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from celery.signals import celeryd_init

from coop.celery import app

__all__ = ["app"]

LINES = ("progress", "transaction", "end")
KINDS = ("rotation.recompute", "reports.month", "errands.remind")


def line_of(round_number: int, kind: str) -> str:
    """Where a kind of job is held in a round; it must come by there."""
    if kind == "errands.remind":
        return "end"
    return LINES[round_number % len(LINES)]


@celeryd_init.connect
def _hold(**_told: Any) -> None:
    """Once the product's rooms are registered, before a child is made."""
    from coop.audit import services as audit
    from coop.jobs import registry, services
    from coop.jobs.models import JobRun
    from coop.telemetry import context

    # What the calendar asks for would only stand in the way of what is killed.
    registry._schedules.clear()
    report, record, finish = services.LeasedRun.report, audit.record, services._finish

    def stop_at(line: str, run_id: object) -> None:
        run = JobRun.objects.get(id=run_id)
        asked = run.scope.partition("@")[2]
        if run.name in KINDS and run.attempts == 1 and asked == line:
            Path(os.environ["FAULTS_HELD"], str(run.id)).touch()
            threading.Event().wait()

    def reported(leased: Any, progress_pct: int, note: str = "") -> None:
        report(leased, progress_pct, note)
        stop_at("progress", leased.run_id)

    def recorded(*arguments: Any, **named: Any) -> Any:
        made = record(*arguments, **named)
        if context.job_id.get():
            stop_at("transaction", context.job_id.get())
        return made

    def finished(leased: Any, **fields: Any) -> Any:
        stop_at("end", leased.run_id)
        return finish(leased, **fields)

    named: dict[str, tuple[Any, Callable[..., Any]]] = {
        "report": (services.LeasedRun, reported),
        "record": (audit, recorded),
        "_finish": (services, finished),
    }
    for name, (where, held) in named.items():
        setattr(where, name, held)

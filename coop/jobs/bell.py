"""Ring for work that was committed: a Celery message where there is a broker, else nothing.

A bell that is not heard loses nothing: the sweep finds the row.
"""

import logging
from uuid import UUID

from django.conf import settings

from coop.jobs.lanes import URGENT_TASKS, urgent_queue

SWEEP_EVERY_S = 5.0
HEARD_FOR_S = 60.0
"""How often lost bells are made up for, and how long such a bell may wait for a worker to hear
it. Common practice, no source."""

logger = logging.getLogger(__name__)


def has_broker() -> bool:
    """Whether a broker is configured; without one the local runner drains the same rows."""
    return bool(settings.REDIS_URL)


def ring_job(run_id: UUID, *, urgent: bool = False, for_s: float | None = None) -> None:
    """``for_s``: how long the bell may wait to be heard; one that comes round again need not."""
    _send("coop.jobs.run_job", str(run_id), for_s=for_s, urgent=urgent)


def ring_outbox(*, for_s: float | None = None) -> None:
    """For facts, and for letters that are a matter of safety."""
    _send("coop.outbox.drain", for_s=for_s)


def ring_letters(*, for_s: float | None = None) -> None:
    """For letters that may wait."""
    _send("coop.outbox.send_letters", for_s=for_s)


def ring_deliveries(*, for_s: float | None = None) -> None:
    _send("coop.outbox.deliver", for_s=for_s)


def queue_of(task_name: str) -> str:
    """The Celery queue in which a task is heard."""
    queue: str = settings.CELERY_TASK_DEFAULT_QUEUE
    return urgent_queue(queue) if task_name in URGENT_TASKS else queue


def _send(
    task_name: str, *arguments: str, for_s: float | None = None, urgent: bool = False
) -> None:
    if not has_broker():
        return
    from coop.celery import app

    queue = urgent_queue(settings.CELERY_TASK_DEFAULT_QUEUE) if urgent else queue_of(task_name)
    try:
        app.send_task(task_name, args=arguments, retry=False, expires=for_s, queue=queue)
    except Exception as error:  # whatever a broker's client raises when its server is away
        logger.warning(
            "the broker did not hear %s: %s; the sweep will find the row", task_name, error
        )

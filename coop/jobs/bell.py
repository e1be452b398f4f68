"""Ring for work that was committed: a Celery message where there is a broker, else nothing.

A bell that is not heard loses nothing: the sweep finds the row.
"""

import logging
from uuid import UUID

from django.conf import settings

logger = logging.getLogger(__name__)


def has_broker() -> bool:
    """Whether a broker is configured; without one the local runner drains the same rows."""
    return bool(settings.REDIS_URL)


def ring_job(run_id: UUID) -> None:
    _send("coop.jobs.run_job", str(run_id))


def ring_outbox() -> None:
    _send("coop.outbox.drain")


def ring_deliveries() -> None:
    _send("coop.outbox.deliver")


def _send(task_name: str, *arguments: str) -> None:
    if not has_broker():
        return
    from coop.celery import app

    try:
        app.send_task(task_name, args=arguments, retry=False)
    except app.connection_for_write().connection_errors as error:
        logger.warning(
            "the broker did not hear %s: %s; the sweep will find the row", task_name, error
        )

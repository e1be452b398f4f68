"""Two queues, so that no urgent work stands behind slow work: their names, and what goes where.

Knows no Django: the settings read it.
"""

from collections.abc import Mapping

URGENT_TASKS = frozenset(
    {
        "coop.jobs.tick_urgent",
        "coop.jobs.sweep",
        "coop.outbox.drain",
        "coop.outbox.sweep",
    }
)
"""What finds or hands on urgent work. Each is short, or ends its pass and rings again."""


def urgent_queue(name: str) -> str:
    """The queue of urgent bells beside the queue called ``name``."""
    return f"{name}.urgent"


def queues(name: str) -> dict[str, Mapping[str, str]]:
    """Both queues, as Celery wants them declared: the urgent one first, since it is heard first.

    Each has an exchange of its own; on a common one every bell would ring in both.
    """
    return {
        queue: {"exchange": queue, "routing_key": queue} for queue in (urgent_queue(name), name)
    }

"""The Celery application: rooms are named one by one, tasks explicitly.

Two queues, so that urgent work is not heard behind slow work; a worker hears both, the urgent
one first, unless ``-Q`` names one.
"""

import os

from celery import Celery

from coop.jobs.bell import HEARD_FOR_S, SWEEP_EVERY_S, queue_of

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")


def route(name: str, *_arguments: object, **_options: object) -> dict[str, str]:
    """The queue of a task that nobody sent to another."""
    return {"queue": queue_of(name)}


app = Celery("coop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["coop.jobs", "coop.outbox"])
app.conf.task_routes = (route,)
# Told in time or not at all: behind workers that are all busy they must not pile up.
app.conf.beat_schedule = {
    name: {"task": task, "schedule": every_s, "options": {"expires": HEARD_FOR_S}}
    for name, task, every_s in (
        ("urgent-tick", "coop.jobs.tick_urgent", 60.0),
        ("tick", "coop.jobs.tick", 60.0),
        ("outbox", "coop.outbox.drain", 60.0),
        ("letters", "coop.outbox.send_letters", 60.0),
        ("deliveries", "coop.outbox.deliver", 60.0),
        ("jobs-sweep", "coop.jobs.sweep", SWEEP_EVERY_S),
        ("outbox-sweep", "coop.outbox.sweep", SWEEP_EVERY_S),
    )
}

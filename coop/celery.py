"""The Celery application: rooms are named one by one, tasks explicitly."""

import os

from celery import Celery

from coop.jobs.bell import HEARD_FOR_S, SWEEP_EVERY_S

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")

app = Celery("coop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["coop.jobs", "coop.outbox"])
# Told in time or not at all: behind workers that are all busy they must not pile up.
app.conf.beat_schedule = {
    name: {"task": task, "schedule": every_s, "options": {"expires": HEARD_FOR_S}}
    for name, task, every_s in (
        ("tick", "coop.jobs.tick", 60.0),
        ("outbox", "coop.outbox.drain", 60.0),
        ("deliveries", "coop.outbox.deliver", 60.0),
        ("jobs-sweep", "coop.jobs.sweep", SWEEP_EVERY_S),
        ("outbox-sweep", "coop.outbox.sweep", SWEEP_EVERY_S),
    )
}

"""The Celery application: rooms are named one by one, tasks explicitly."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")

app = Celery("coop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["coop.jobs", "coop.outbox"])
app.conf.beat_schedule = {
    "tick": {"task": "coop.jobs.tick", "schedule": 60.0},
    "outbox": {"task": "coop.outbox.drain", "schedule": 60.0},
    "deliveries": {"task": "coop.outbox.deliver", "schedule": 60.0},
}

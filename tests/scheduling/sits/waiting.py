"""Waiting for a seat, and what came of it: shared by the tests of the waiting list."""

from datetime import timedelta

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from coop.jobs.models import JobRun
from coop.outbox.models import Message
from scheduling.sits.life_services import cancel_sit
from scheduling.sits.waiting_services import WORK_WAITING_LIST, wait_for_seat
from scheduling.sits.waiting_work import work_waiting_list
from tests.cast import NOW
from tests.scheduling.sits.stage import DAY, facts_handled

WAITING = "/api/v1/waiting-list/"
MINUTE = timedelta(minutes=1)


def waits(stage, person, stand="creek", *, now=NOW, span="evening", **more):
    return wait_for_seat(
        actor=stage.cast.actor(more.pop("by", person)),
        land=stage.cast.north,
        stand=getattr(stage, stand) if stand else None,
        local_date=more.pop("day", DAY),
        span=span,
        person=person,
        now=now,
        **more,
    )


def work(stage, now=NOW):
    return work_waiting_list(property_id=stage.cast.north.id, actor=system_actor("test"), now=now)


def cancelled(stage, sit, now=NOW):
    return cancel_sit(actor=stage.cast.actor(sit.person), sit=sit, reason="Ill", now=now)


def jobs_done(now=NOW):
    """Hand on facts, then run what they queued."""
    facts_handled(now)
    return [jobs.run_job(run_id=run_id, now=now) for run_id in jobs.waiting(now=now)]


def work_queued():
    return JobRun.objects.filter(name=WORK_WAITING_LIST)


def mails(person):
    return list(
        Message.objects.filter(recipient=person.email)
        .order_by("id")
        .values_list("subject", "urgent")
    )


def shortly_before(sit):
    return sit.starts_at - timedelta(hours=3)

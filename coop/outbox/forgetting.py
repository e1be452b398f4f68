"""Once a night: facts that were handed on go, and what letters held that left long ago.

Of a letter stays that it was written, to whom, about what and when it left: who looks up what
became of a closure or a ladder reads that, and its key keeps the notice from being written twice.
"""

from collections.abc import Callable
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from coop import keeping
from coop.jobs import registry
from coop.jobs.forgetting import nightly
from coop.outbox.models import Fact, Message, MessageAttachment, MessageState

FORGET = "outbox.forget_old"
# A dead letter may be sent again by a coordinator, so it is not finished.
_FINISHED = (MessageState.SENT, MessageState.WITHHELD)

Report = Callable[[int, str], None]


def forget_old_facts(*, now: datetime, report: Report) -> int:
    """Delete facts that were handled too long ago; returns how many.

    One that another, unhandled fact tells of stays, and so does one that was given up.
    """
    told_of = [
        UUID(ids["fact"])
        for ids in Fact.objects.filter(handled_at=None).values_list("ids", flat=True)
        if "fact" in ids
    ]
    old = Fact.objects.filter(handled_at__lt=keeping.kept_since("facts", now))
    return keeping.forget(
        old.exclude(id__in=told_of),
        lambda ids: Fact.objects.filter(id__in=ids).delete(),
        report=report,
    )


def empty_old_letters(*, now: datetime, report: Report) -> int:
    """Delete text, page and attachments of letters that ended too long ago; returns how many."""
    holds_something = (
        Q(text__gt="")
        | Q(html__gt="")
        | Exists(MessageAttachment.objects.filter(message=OuterRef("id")))
    )
    # None was due later than it left.
    old = Message.objects.filter(
        holds_something, state__in=_FINISHED, due_at__lt=keeping.kept_since("letters", now)
    )

    def end(ids: list[UUID]) -> None:
        MessageAttachment.objects.filter(message__in=ids).delete()
        Message.objects.filter(id__in=ids).update(text="", html="")

    return keeping.forget(old, end, report=report)


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(FORGET, _forget, urgency=registry.Urgency.SLOW)
    registry.register_schedule(FORGET, nightly(FORGET))


def _forget(job: registry.JobContext) -> dict[str, int]:
    return {
        "facts": forget_old_facts(now=job.now, report=job.report),
        "letters": empty_old_letters(now=job.now, report=job.report),
    }

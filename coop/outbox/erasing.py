"""Take out of letters and preferences what they hold of somebody whose data is erased."""

from collections.abc import Collection
from uuid import UUID

from django.db.models import CharField, Q, QuerySet, Value
from django.db.models.functions import Cast, Concat

from coop.naming import can_be_sought_in_texts
from coop.outbox.models import Message, MessageAttachment, MessageState, NoticePreference

NOWHERE = "erased@cooperative.invalid"
"""Stands for the address of whoever a letter went to (RFC 2606: no such domain exists)."""
_LEFT = (MessageState.SENT, MessageState.WITHHELD)


def erase_letters(*, addresses: Collection[str], cooperative_id: UUID, name: str) -> int:
    """Empty letters to ``addresses``, and those of the cooperative that name ``name``.

    Returns how many. Of a letter to them stays that it left, and when; one that waits for them
    leaves no more. A letter to somebody else that waits still leaves as it is.
    """
    theirs = Message.objects.filter(recipient__in=addresses)
    theirs.exclude(state__in=_LEFT).update(state=MessageState.WITHHELD, lease_until=None)
    named = Q(subject__contains=name) | Q(text__contains=name) | Q(html__contains=name)
    others = Message.objects.none()
    if can_be_sought_in_texts(name):
        others = Message.objects.filter(named, cooperative_id=cooperative_id, state__in=_LEFT)
    # By id, since an emptied letter is found by neither question any more.
    ids = set(theirs.values_list("id", flat=True)) | set(others.values_list("id", flat=True))
    # The keys of notices to several people end with each one's address.
    key = Concat(Value("erased:"), Cast("id", CharField()))
    theirs.update(recipient=NOWHERE, once_key=key)
    _empty(Message.objects.filter(id__in=ids))
    NoticePreference.objects.filter(email__in=addresses).delete()
    return len(ids)


def _empty(letters: QuerySet[Message]) -> None:
    MessageAttachment.objects.filter(message__in=letters).delete()
    letters.update(subject="", text="", html="", error="")

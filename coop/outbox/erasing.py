"""Take out of letters and preferences what they hold of somebody whose data is erased."""

from collections.abc import Collection
from html import escape
from uuid import UUID

from django.db.models import Q, QuerySet

from coop.naming import KnownAs
from coop.outbox.models import Message, MessageAttachment, MessageState, NoticePreference

NOWHERE = "erased@cooperative.invalid"
"""Stands for the address of whoever a letter went to (RFC 2606: no such domain exists)."""
_LEFT = (MessageState.SENT, MessageState.WITHHELD)


def erase_letters(*, cooperative_id: UUID, known_as: KnownAs) -> int:
    """Empty letters to their addresses, and those of the cooperative that name them in full.

    Returns how many. Of a letter to them stays that it left, and when; one that waits for them
    leaves no more. A letter to somebody else that waits still leaves as it is.
    """
    theirs = Message.objects.filter(_at("recipient", known_as.addresses))
    theirs.exclude(state__in=_LEFT).update(state=MessageState.WITHHELD, lease_until=None)
    # By id, since an emptied letter is found by neither question any more.
    to_them = list(theirs.only("id", "once_key"))
    ids = {letter.id for letter in to_them} | {
        letter.id
        for letter in _that_may_name(known_as.names_within, cooperative_id).iterator()
        if known_as.are_named_in(letter.subject, letter.text) or known_as.are_named_on(letter.html)
    }
    for letter in to_them:
        letter.recipient = NOWHERE
        # Keys end with the reader's address; by how they begin it is counted who was told.
        letter.once_key = known_as.address_out_of(letter.once_key, instead=str(letter.id))
    Message.objects.bulk_update(to_them, ["recipient", "once_key"], batch_size=500)
    _empty(Message.objects.filter(id__in=ids))
    NoticePreference.objects.filter(_at("email", known_as.addresses)).delete()
    return len(ids)


def _at(column: str, addresses: Collection[str]) -> Q:
    found = Q(pk__in=[])
    for address in addresses:
        found |= Q(**{f"{column}__iexact": address})
    return found


def _that_may_name(names: Collection[str], cooperative_id: UUID) -> QuerySet[Message]:
    found = Q(pk__in=[])
    for name in names:
        found |= Q(subject__contains=name) | Q(text__contains=name)
        found |= Q(html__contains=escape(name))
    return Message.objects.filter(found, cooperative_id=cooperative_id, state__in=_LEFT)


def _empty(letters: QuerySet[Message]) -> None:
    MessageAttachment.objects.filter(message__in=letters).delete()
    letters.update(subject="", text="", html="", error="")

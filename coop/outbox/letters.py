"""E-mail made of one message, or of several that leave together."""

import hashlib
from collections.abc import Sequence

from django.core.mail import EmailMultiAlternatives

from coop.outbox.models import Message
from coop.outbox.preferences import NOTICES, unsubscribe_link


def letter(messages: Sequence[Message]) -> EmailMultiAlternatives:
    """One letter to one reader: a single message as it is, several as a digest in plain text."""
    return _single(messages[0]) if len(messages) == 1 else _digest(messages)


def _single(message: Message) -> EmailMultiAlternatives:
    # The same id after a crash lets the reader's mailbox drop the duplicate.
    headers = {"Message-ID": f"<{message.id}@cooperative.invalid>"}
    if not message.urgent:
        headers |= _ending(message.recipient, message.subscription or NOTICES)
    mail = EmailMultiAlternatives(
        subject=message.subject, body=message.text, to=[message.recipient], headers=headers
    )
    if message.html:
        mail.attach_alternative(message.html, "text/html")
    for attachment in message.attachments.order_by("name"):
        mail.attach(attachment.name, bytes(attachment.content), attachment.media_type)
    return mail


def _digest(messages: Sequence[Message]) -> EmailMultiAlternatives:
    parts = [f"{message.subject}\n\n{message.text}" for message in messages]
    recipient = messages[0].recipient
    # Another composition is another letter: a mailbox must not drop it for the one before.
    inside = hashlib.sha256("".join(sorted(str(each.id) for each in messages)).encode())
    return EmailMultiAlternatives(
        subject=f"{len(messages)} notices of your cooperative",
        body="\n\n----------\n\n".join(parts),
        to=[recipient],
        headers={
            "Message-ID": f"<digest-{inside.hexdigest()[:32]}@cooperative.invalid>",
            **_ending(recipient, NOTICES),
        },
    )


def _ending(recipient: str, subscription: str) -> dict[str, str]:
    """RFC 2369 for the link, RFC 8058 for ending the subscription with one click."""
    link = unsubscribe_link(email=recipient, subscription=subscription)
    return {
        "List-Unsubscribe": f"<{link}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }

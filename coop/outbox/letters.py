"""E-mail made of one message, or of several that leave together."""

from collections.abc import Sequence

from django.core.mail import EmailMultiAlternatives

from coop.outbox.models import Message
from coop.outbox.preferences import unsubscribe_link


def letter(messages: Sequence[Message]) -> EmailMultiAlternatives:
    """One letter to one reader: a single message as it is, several as a digest in plain text."""
    return _single(messages[0]) if len(messages) == 1 else _digest(messages)


def _single(message: Message) -> EmailMultiAlternatives:
    # The same id after a crash lets the reader's mailbox drop the duplicate.
    headers = {"Message-ID": f"<{message.id}@cooperative.invalid>"}
    if message.subscription:
        link = unsubscribe_link(email=message.recipient, subscription=message.subscription)
        # RFC 2369 for the link, RFC 8058 for ending it with one click.
        headers["List-Unsubscribe"] = f"<{link}>"
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
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
    return EmailMultiAlternatives(
        subject=f"{len(messages)} notices of your cooperative",
        body="\n\n----------\n\n".join(parts),
        to=[messages[0].recipient],
        headers={"Message-ID": f"<digest-{messages[0].id}@cooperative.invalid>"},
    )

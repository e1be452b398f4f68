"""Gathers the models of the ground floor's rooms for Django; no room imports this."""

from coop.access.models import Application, PersonalToken, User
from coop.api.models import IdempotentAnswer
from coop.audit.models import AuditEvent
from coop.jobs.models import JobRun
from coop.outbox.models import Fact, Message, MessageAttachment, NoticePreference

__all__ = [
    "Application",
    "AuditEvent",
    "Fact",
    "IdempotentAnswer",
    "JobRun",
    "Message",
    "MessageAttachment",
    "NoticePreference",
    "PersonalToken",
    "User",
]

"""Gathers the models of the ground floor's rooms for Django; no room imports this."""

from coop.access.models import Application, PersonalToken, SecondFactor, User
from coop.api.models import IdempotentAnswer
from coop.audit.models import AuditEvent
from coop.jobs.models import JobLogLine, JobRun
from coop.outbox.models import Fact, Message, MessageAttachment, NoticePreference
from coop.outbox.webhooks.models import DeliveryAttempt, WebhookDelivery, WebhookEndpoint

__all__ = [
    "Application",
    "AuditEvent",
    "DeliveryAttempt",
    "Fact",
    "IdempotentAnswer",
    "JobLogLine",
    "JobRun",
    "Message",
    "MessageAttachment",
    "NoticePreference",
    "PersonalToken",
    "SecondFactor",
    "User",
    "WebhookDelivery",
    "WebhookEndpoint",
]

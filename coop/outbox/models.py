"""Facts written with their cause, and messages to people that follow from them."""

from django.db import models

from coop.records import Record


class Fact(Record):
    """Something that happened, for rooms that its writer does not know: topic and ids only."""

    topic = models.CharField(max_length=60)
    ids = models.JSONField(default=dict)
    occurred_at = models.DateTimeField()
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    handled_at = models.DateTimeField(null=True, blank=True)
    failed_at = models.DateTimeField(null=True, blank=True)
    error = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["handled_at", "due_at"], name="fact_waiting")]


class MessageState(models.TextChoices):
    WAITING = "waiting"
    SENT = "sent"
    DEAD = "dead"


class Message(Record):
    """One e-mail to one person; ``once_key`` keeps the same notice from being written twice."""

    once_key = models.CharField(max_length=200, unique=True)
    recipient = models.EmailField()
    subject = models.CharField(max_length=200)
    text = models.TextField()
    html = models.TextField(blank=True)
    cooperative_id = models.UUIDField(null=True, blank=True, db_index=True)
    state = models.CharField(max_length=10, choices=MessageState, default=MessageState.WAITING)
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    error = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["state", "due_at"], name="message_state_due")]

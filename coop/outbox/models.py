"""Facts written with their cause, and messages to people that follow from them."""

from datetime import time

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
    WITHHELD = "withheld"


class Message(Record):
    """One e-mail to one person; ``once_key`` keeps the same notice from being written twice.

    An urgent one (safety) waits for nobody's quiet hours and ignores what its reader prefers.
    One ``in_digest`` leaves together with the reader's others. ``subscription`` names what a
    reader may end with the link in its head; ``withheld`` is what a reader has ended. The text
    of a ``private`` one holds a secret of its reader and is shown to nobody else.
    """

    once_key = models.CharField(max_length=200, unique=True)
    recipient = models.EmailField()
    subject = models.CharField(max_length=200)
    # Not editable: letters hold links that open without signing in; the audit record holds none.
    text = models.TextField(editable=False)
    html = models.TextField(blank=True)
    urgent = models.BooleanField(default=False)
    in_digest = models.BooleanField(default=False)
    private = models.BooleanField(default=False)
    subscription = models.CharField(max_length=30, blank=True)
    cooperative_id = models.UUIDField(null=True, blank=True, db_index=True)
    state = models.CharField(max_length=10, choices=MessageState, default=MessageState.WAITING)
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    error = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["state", "due_at"], name="message_state_due")]


class MessageAttachment(Record):
    """A file that travels with a message."""

    message = models.ForeignKey(Message, on_delete=models.CASCADE, related_name="attachments")
    name = models.CharField(max_length=120)
    media_type = models.CharField(max_length=60)
    content = models.BinaryField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["message", "name"], name="attachment_named_once"),
        ]


class NoticeChannel(models.TextChoices):
    EACH = "each"
    DIGEST = "digest"
    NONE = "none"


class NoticePreference(Record):
    """How the reader at one address wants notices; safety notices ask nobody.

    ``quiet_from`` up to ``quiet_until`` are times of day in ``time_zone``; they may run over
    midnight. What comes in them leaves together when they end. ``ended`` names subscriptions
    that the reader ended.
    """

    email = models.EmailField(unique=True)
    channel = models.CharField(max_length=10, choices=NoticeChannel, default=NoticeChannel.EACH)
    time_zone = models.CharField(max_length=60, default="UTC")
    digest_at = models.TimeField(default=time(7))
    quiet_from = models.TimeField(null=True, blank=True)
    quiet_until = models.TimeField(null=True, blank=True)
    ended = models.JSONField(default=list, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(quiet_from__isnull=True, quiet_until__isnull=True)
                | models.Q(quiet_from__isnull=False, quiet_until__isnull=False),
                name="quiet_hours_have_both_ends",
            ),
        ]

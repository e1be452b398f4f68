"""Answers kept for idempotency keys."""

from django.db import models

from coop.records import Record


class IdempotentAnswer(Record):
    """One effect for each key: the answer that was given, replayed to whoever asks again."""

    caller_digest = models.CharField(max_length=64)
    key = models.CharField(max_length=255)
    method = models.CharField(max_length=10)
    path = models.CharField(max_length=500)
    body_digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    headers = models.JSONField(default=dict)
    body = models.BinaryField(default=b"")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["caller_digest", "key", "method", "path"], name="one_answer_for_each_key"
            ),
        ]
        indexes = [models.Index(fields=["created_at"], name="idempotent_created_at")]

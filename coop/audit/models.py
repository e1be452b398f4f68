"""The audit record. Database triggers refuse to change or delete a row, but for emptying it."""

from django.db import models

from coop.records import Record


class AuditEvent(Record):
    """Who did what to which object, why, and what it was before and after.

    Where the data of somebody it told of was erased, name, reason, before and after may be
    empty, and ``emptied_at`` says since when; nothing of it is ever another than it was.
    """

    recorded_at = models.DateTimeField()
    actor_kind = models.CharField(max_length=20)
    actor_id = models.CharField(max_length=64, blank=True)
    actor_name = models.CharField(max_length=200, blank=True)
    action = models.CharField(max_length=60)
    object_kind = models.CharField(max_length=60)
    object_id = models.CharField(max_length=64)
    property_id = models.UUIDField(null=True, db_index=True)
    reason = models.TextField(blank=True)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    request_id = models.CharField(max_length=64, blank=True)
    emptied_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["object_kind", "object_id"], name="audit_object"),
            models.Index(fields=["recorded_at"], name="audit_recorded_at"),
        ]

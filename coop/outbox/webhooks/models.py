"""Where events are posted, which were, and how each attempt went."""

from django.conf import settings
from django.db import models

from coop.records import Record, Retirable, VersionedRecord


class DisabledReason(models.TextChoices):
    FAILING = "failing"
    GONE = "gone"


class WebhookEndpoint(VersionedRecord, Retirable):
    """A receiver of the events of one property, registered by a person or an application.

    What it is sent is what its registrant may read when it is sent: an application within the
    ``scopes`` of the token that registered it. The secret is stored nowhere: it follows from
    the server's key and ``secret_nonce``; ``previous_nonce`` signs too until ``previous_until``.
    """

    property_id = models.UUIDField(db_index=True)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE, related_name="+"
    )
    application = models.ForeignKey(
        settings.OAUTH2_PROVIDER_APPLICATION_MODEL,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="+",
    )
    scopes = models.JSONField(default=list, blank=True, editable=False)
    url = models.CharField(max_length=500)
    description = models.CharField(max_length=200, blank=True)
    event_types = models.JSONField(default=list)
    secret_nonce = models.CharField(max_length=64, editable=False)
    previous_nonce = models.CharField(max_length=64, blank=True, editable=False)
    previous_until = models.DateTimeField(null=True, blank=True)
    failing_since = models.DateTimeField(null=True, blank=True)
    last_delivered_at = models.DateTimeField(null=True, blank=True)
    disabled_at = models.DateTimeField(null=True, blank=True)
    disabled_reason = models.CharField(max_length=10, choices=DisabledReason, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(user__isnull=True, application__isnull=False)
                | models.Q(user__isnull=False, application__isnull=True),
                name="webhook_has_one_registrant",
            ),
        ]

    @property
    def registered_by(self) -> str:
        """The name of the person or the application."""
        if self.application is not None:
            return str(self.application.name)
        return self.user.name or self.user.email if self.user else ""


class DeliveryState(models.TextChoices):
    WAITING = "waiting"
    DELIVERED = "delivered"
    DEAD = "dead"
    WITHHELD = "withheld"


class WebhookDelivery(Record):
    """One event on its way to one endpoint. ``withheld``: its registrant may not read it.

    ``attempts`` counts all of them; ``failures`` those since it was last put in the queue.
    """

    endpoint = models.ForeignKey(
        WebhookEndpoint, on_delete=models.CASCADE, related_name="deliveries"
    )
    fact_id = models.UUIDField(null=True, blank=True)
    type = models.CharField(max_length=60)
    data = models.JSONField(default=dict)
    occurred_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=DeliveryState, default=DeliveryState.WAITING)
    due_at = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    failures = models.PositiveSmallIntegerField(default=0)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["endpoint", "fact_id", "type"],
                condition=models.Q(fact_id__isnull=False),
                name="one_delivery_of_each_event_to_an_endpoint",
            ),
        ]
        indexes = [models.Index(fields=["state", "due_at"], name="webhook_delivery_due")]

    @property
    def message_id(self) -> str:
        """The ``webhook-id``: the same for every attempt and every replay."""
        return f"msg_{self.id.hex}"


class Outcome(models.TextChoices):
    """How an attempt ended, in words that tell nothing about the network behind the server."""

    DELIVERED = "delivered"
    REFUSED = "refused"
    TIMED_OUT = "timed_out"
    NOT_CONNECTED = "not_connected"
    ADDRESS_REFUSED = "address_refused"


class DeliveryAttempt(Record):
    """How one attempt went; no answer's body is kept."""

    delivery = models.ForeignKey(
        WebhookDelivery, on_delete=models.CASCADE, related_name="attempt_log"
    )
    number = models.PositiveIntegerField()
    attempted_at = models.DateTimeField()
    duration_ms = models.PositiveIntegerField()
    outcome = models.CharField(max_length=20, choices=Outcome)
    status = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["delivery", "number"], name="attempt_numbered_once_for_each_delivery"
            ),
        ]

"""A sit offered by the member who holds it to another member of the property."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand
from scheduling.sits.models import Sit


class TransferState(models.TextChoices):
    OFFERED = "offered"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    WITHDRAWN = "withdrawn"
    LAPSED = "lapsed"


class SitTransfer(VersionedRecord):
    """One offer of one sit, from the giver to the receiver; kept whatever became of it.

    ``stand`` is where the sit was when it was offered: a sit that a plan has moved since is
    another one, and this offer of it lapses. A manager's own transfer is written as accepted.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="sit_transfers")
    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="transfers")
    stand = models.ForeignKey(Stand, on_delete=models.PROTECT, related_name="+")
    giver = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sits_offered")
    receiver = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sits_received")
    state = models.CharField(max_length=10, choices=TransferState, default=TransferState.OFFERED)
    message = models.CharField(max_length=300, blank=True)
    offered_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    answer = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sit"],
                condition=models.Q(state="offered"),
                name="sit_offered_to_one_at_a_time",
            ),
            models.CheckConstraint(
                condition=~models.Q(giver=models.F("receiver")),
                name="sit_offered_to_somebody_else",
            ),
            models.CheckConstraint(
                condition=models.Q(state="offered", ended_at__isnull=True)
                | (~models.Q(state="offered") & models.Q(ended_at__isnull=False)),
                name="transfer_ends_once_answered",
            ),
        ]

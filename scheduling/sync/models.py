"""What has changed, for whoever keeps a copy: no news, only where to look again."""

from django.db import models

from coop.records import Record
from properties.land.models import Cooperative


class Change(Record):
    """One write that copies have to follow, and who could see its object then.

    Written in the transaction of its cause and without a ``number``: an order that is taken
    when rows are written is not the order in which they become visible. Numbers are given
    afterwards, to rows that are there, and a reader's cursor is a number. So what is committed
    late gets a late number, and no cursor has passed it.

    ``sit_id`` is empty where only offers of the property may have changed. The ids say whose
    the sit was at that time, with which it is decided who hears of it.
    """

    cooperative = models.ForeignKey(Cooperative, on_delete=models.PROTECT, related_name="+")
    number = models.PositiveBigIntegerField(null=True, editable=False)
    property_id = models.UUIDField()
    sit_id = models.UUIDField(null=True)
    person_id = models.UUIDField(null=True)
    host_id = models.UUIDField(null=True)
    outfitter_id = models.UUIDField(null=True)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["cooperative", "number"], name="change_numbered_once_in_cooperative"
            ),
        ]
        indexes = [
            models.Index(
                fields=["cooperative"],
                condition=models.Q(number__isnull=True),
                name="change_without_number",
            ),
            models.Index(fields=["changed_at"], name="change_by_time"),
        ]


class ChangeCount(models.Model):
    """The last number given to a change of a cooperative, and the last that is forgotten."""

    cooperative = models.OneToOneField(
        Cooperative, primary_key=True, on_delete=models.PROTECT, related_name="+"
    )
    last_number = models.PositiveBigIntegerField(default=0)
    forgotten_number = models.PositiveBigIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(forgotten_number__lte=models.F("last_number")),
                name="only_numbered_changes_are_forgotten",
            ),
        ]

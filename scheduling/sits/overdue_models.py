"""The questions asked about somebody who has not come back, each of them once."""

from django.db import models

from coop.records import Record
from scheduling.sits.models import Sit


class Rung(models.IntegerChoices):
    """Who is asked, in this order."""

    HUNTER = 1, "hunter"
    MANAGERS = 2, "managers"
    EMERGENCY_CONTACT = 3, "emergency_contact"


class OverdueNotice(Record):
    """One rung of a sit's ladder, raised; the constraint keeps it from being raised twice.

    ``ladder_number`` is that of the sit: a hunter who says to be back later begins a new
    ladder, so that nobody who is late again goes unasked.
    """

    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="overdue_notices")
    ladder_number = models.PositiveSmallIntegerField()
    rung = models.PositiveSmallIntegerField(choices=Rung)
    raised_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sit", "ladder_number", "rung"], name="overdue_rung_raised_once"
            ),
        ]

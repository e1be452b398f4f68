"""The questions asked about somebody who has not come back, each of them once."""

from django.db import models

from coop.records import Record
from scheduling.sits.models import Sit
from scheduling.sits.overdue_ladder import Rung

RUNG_CHOICES = [(rung.value, rung.label) for rung in Rung]


class OverdueNotice(Record):
    """One rung of a sit's ladder, raised; the constraint keeps it from being raised twice.

    ``ladder_number`` is that of the sit: a hunter who says to be back later begins a new
    ladder, so that nobody who is late again goes unasked.
    """

    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="overdue_notices")
    ladder_number = models.PositiveSmallIntegerField()
    rung = models.PositiveSmallIntegerField(choices=RUNG_CHOICES)
    raised_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sit", "ladder_number", "rung"], name="overdue_rung_raised_once"
            ),
        ]

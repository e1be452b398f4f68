"""What was done about a closure of ground: which sits ended, which run plans anew."""

from django.db import models

from coop.records import Record
from properties.land.models import Closure
from scheduling.sits.models import Sit


class ClosureOutcome(Record):
    """That a closure was acted on: when, and the run of the rotation that it caused, if any."""

    closure = models.OneToOneField(Closure, on_delete=models.PROTECT, related_name="outcome")
    acted_at = models.DateTimeField()
    run_id = models.UUIDField(null=True, blank=True)


class ClosedSit(Record):
    """A sit that a closure met: cancelled, or out on the land, whose hunter was told.

    ``once_key`` begins the keys of the letters that told of it.
    """

    closure = models.ForeignKey(Closure, on_delete=models.PROTECT, related_name="sits")
    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="+")
    was_out = models.BooleanField(default=False)
    met_at = models.DateTimeField()
    once_key = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["closure", "sit"], name="sit_met_once_by_closure"),
        ]

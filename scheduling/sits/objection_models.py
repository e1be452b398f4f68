"""Rules of the ground that came to object to sits after they were booked."""

from django.db import models

from coop.records import Record
from scheduling.sits.models import Sit


class SitObjection(Record):
    """That a rule objects to a booked sit, found and told at ``found_at``.

    It stands until the rule no longer objects, so that one letter tells of it however often the
    map changes meanwhile.
    """

    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=60)
    found_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sit", "code"],
                condition=models.Q(ended_at=None),
                name="sit_objected_to_once_by_rule",
            ),
        ]

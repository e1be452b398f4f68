"""Private calendar feeds, each behind an address that only its owner was told."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.people.models import Person


class CalendarFeed(VersionedRecord):
    """A feed of one person: of their own sits, or of a property's (``property``).

    ``digest`` is the SHA-256 of the address's secret; the secret itself is kept nowhere.
    Replacing the secret ends the old address. ``revoked_at``: the feed answers no more.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="calendar_feeds")
    property = models.ForeignKey(
        Property, null=True, blank=True, on_delete=models.PROTECT, related_name="calendar_feeds"
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person"],
                condition=models.Q(property__isnull=True),
                name="one_feed_of_ones_own_sits",
            ),
            models.UniqueConstraint(
                fields=["person", "property"], name="one_feed_of_a_property_a_person"
            ),
        ]

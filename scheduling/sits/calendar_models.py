"""Private calendar feeds, each behind an address that only its owner was told.

And what feeds still have to say of sits that are no longer theirs.
"""

from django.db import models

from coop.records import Record, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand
from scheduling.sits.models import Sit


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


class FormerHolding(Record):
    """What calendars showed of a sit before it went to another person or property.

    The feeds of that person, and of that property, go on showing the entry as cancelled under
    its own UID, since a client may keep an event that merely vanishes. ``sequence`` is the
    sit's version at the handover, so that it is later than all that was shown before; what
    happens to the sit afterwards is not theirs to read.
    """

    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="former_holdings")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="former_holdings")
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="former_holdings")
    stand = models.ForeignKey(Stand, on_delete=models.PROTECT, related_name="+")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    sequence = models.PositiveIntegerField()
    ended_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sit", "sequence"], name="one_former_holding_for_each_change"
            ),
        ]

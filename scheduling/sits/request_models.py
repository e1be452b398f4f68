"""Who asks for seats: members with their wishes, clients through an outfitter."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.people.models import Outfitter, Person


class SitRequest(VersionedRecord):
    """A wish: how many sits a member would like between two dates, and where.

    ``wanted_stands`` maps stand ids to a preference in percent; empty means any stand of
    the property. ``kinds`` are sessions, empty for either; or all_day alone, for sits of a
    morning and the evening after it on one stand. ``guests`` are ids of persons who come along
    to each of these sits, in the same stand. ``notice_days``: whoever has a long way
    learns of a sit so many days before; no later one is planned anew, or moved.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="sit_requests")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sit_requests")
    first_on = models.DateField()
    last_on = models.DateField()
    wanted_sits = models.PositiveSmallIntegerField()
    kinds = models.JSONField(default=list, blank=True)
    wanted_stands = models.JSONField(default=dict, blank=True)
    guests = models.JSONField(default=list, blank=True)
    notice_days = models.PositiveSmallIntegerField(default=0)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(first_on__lte=models.F("last_on")),
                name="request_ends_after_it_begins",
            ),
            models.CheckConstraint(
                condition=models.Q(wanted_sits__gte=1, wanted_sits__lte=60),
                name="request_for_a_plausible_number",
            ),
        ]


class Client(VersionedRecord):
    """A client of an outfitter: a person known by the outfitter's own reference."""

    outfitter = models.ForeignKey(Outfitter, on_delete=models.PROTECT, related_name="clients")
    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="client")
    reference = models.CharField(max_length=100)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["outfitter", "reference"], name="client_known_once_to_outfitter"
            ),
        ]

"""Deer taken, plans of how many to take and places in them, and members' own tags."""

from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from scheduling.sits.deer_kinds import KNOWN_SEXES, DeerSex, HarvestClass
from scheduling.sits.harvest_columns import HarvestColumns
from scheduling.sits.seat_models import Sit


class Harvest(VersionedRecord, HarvestColumns):
    """A deer taken, counted against the property's own plan; never hidden when over it."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="harvests")
    sit = models.ForeignKey(
        Sit, null=True, blank=True, on_delete=models.PROTECT, related_name="harvests"
    )
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="harvests")
    harvest_class = models.CharField(max_length=12, choices=HarvestClass)
    sex = models.CharField(max_length=10, choices=DeerSex, default=DeerSex.UNKNOWN)
    taken_at = models.DateTimeField()
    tag = models.OneToOneField(
        "scheduling.Tag", null=True, blank=True, on_delete=models.PROTECT, related_name="harvest"
    )
    notes = models.CharField(max_length=300, blank=True)

    class Meta(HarvestColumns.Meta):
        pass


class HarvestPlan(VersionedRecord):
    """How many deer of a class, and of one sex where said, are planned in a season's year.

    ``places_reserved``: while fewer are left than hunters out, a place is kept for each of
    those who sit. ``filled_at`` is since when the number is reached.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="harvest_plans")
    season_year = models.PositiveSmallIntegerField()
    harvest_class = models.CharField(max_length=12, choices=HarvestClass)
    sex = models.CharField(
        max_length=10,
        choices=KNOWN_SEXES,
        blank=True,
    )
    planned = models.PositiveSmallIntegerField()
    places_reserved = models.BooleanField(default=True)
    filled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "season_year", "harvest_class", "sex"],
                name="one_harvest_plan_for_each_class",
            ),
        ]


class HarvestPlace(Record):
    """What one sit asks of one plan: a place, kept for it (``held``) or not.

    Rows exist only while the sit can still fill a place; they follow from sits, plans and
    harvest, as claims follow from sits. ``wanted`` is the hunter's own word.
    """

    plan = models.ForeignKey(HarvestPlan, on_delete=models.CASCADE, related_name="places")
    sit = models.ForeignKey(Sit, on_delete=models.CASCADE, related_name="harvest_places")
    wanted = models.BooleanField(default=True)
    held = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan", "sit"], name="sit_asks_once_of_a_plan"),
            models.CheckConstraint(
                condition=models.Q(held=False) | models.Q(wanted=True),
                name="place_kept_only_for_who_wants_it",
            ),
        ]


class TagKind(models.TextChoices):
    TAG = "tag"
    PERMIT = "permit"


class Tag(VersionedRecord, Retirable):
    """One tag or permit for one deer, as its holder told it; the state's own record decides.

    An empty class or sex covers any; without a property it is good wherever it is good by
    law. It is used when a harvest names it. Times of validity are local dates, both included.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="tags")
    property = models.ForeignKey(
        Property, null=True, blank=True, on_delete=models.PROTECT, related_name="tags"
    )
    kind = models.CharField(max_length=10, choices=TagKind, default=TagKind.TAG)
    number = models.CharField(max_length=60)
    harvest_class = models.CharField(max_length=12, choices=HarvestClass, blank=True)
    sex = models.CharField(
        max_length=10,
        choices=KNOWN_SEXES,
        blank=True,
    )
    valid_from = models.DateField()
    valid_until = models.DateField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(valid_from__lte=models.F("valid_until")),
                name="tag_ends_after_it_begins",
            ),
            models.UniqueConstraint(
                fields=["person", "kind", "number"],
                condition=models.Q(retired_at__isnull=True),
                name="tag_known_once_to_its_holder",
            ),
        ]

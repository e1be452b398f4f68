"""A deer hit and not found, those who look for it, and the neighbours of the property."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from scheduling.sits.models import Harvest, HarvestClass, Sit
from scheduling.sits.overdue_models import RUNG_CHOICES
from scheduling.tracking.advice import HIT_KINDS


class Outcome(models.TextChoices):
    RECOVERED = "recovered"
    NOT_FOUND = "not_found"
    SEEN_AGAIN = "seen_again"


class Tracking(VersionedRecord):
    """One deer that was hit from a sit, followed until somebody says what came of it.

    The place is where it was last seen. ``hit_kind`` is the hunter's own judgement.
    ``told_sits`` are the ids of sits that were told when it opened. The two ``counts_...``
    say how a deer not found was counted when it ended, by the rule of the house then; a deer
    recovered is counted by its harvest, and here they are false.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="trackings")
    sit = models.ForeignKey(Sit, on_delete=models.PROTECT, related_name="trackings")
    hunter = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="trackings")
    opened_at = models.DateTimeField()
    hit_at = models.DateTimeField()
    longitude = models.FloatField(validators=[MinValueValidator(-180), MaxValueValidator(180)])
    latitude = models.FloatField(validators=[MinValueValidator(-90), MaxValueValidator(90)])
    hit_kind = models.CharField(max_length=10, choices=[(kind, kind) for kind in HIT_KINDS])
    harvest_class = models.CharField(max_length=12, choices=HarvestClass)
    remarks = models.TextField(blank=True)
    told_sits = models.JSONField(default=list, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=12, choices=Outcome, blank=True)
    outcome_remarks = models.TextField(blank=True)
    counts_toward_plan = models.BooleanField(default=False)
    counts_toward_member = models.BooleanField(default=False)
    harvest = models.OneToOneField(
        Harvest, null=True, blank=True, on_delete=models.PROTECT, related_name="tracking"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True, outcome="")
                | (models.Q(ended_at__isnull=False) & ~models.Q(outcome="")),
                name="tracking_ends_with_an_outcome",
            ),
            models.CheckConstraint(
                condition=models.Q(outcome="recovered", harvest__isnull=False)
                | (~models.Q(outcome="recovered") & models.Q(harvest__isnull=True)),
                name="tracked_deer_recovered_is_a_harvest",
            ),
            models.UniqueConstraint(
                fields=["sit", "hit_at"],
                condition=models.Q(ended_at__isnull=True),
                name="hit_tracked_once_at_a_time",
            ),
        ]
        indexes = [models.Index(fields=["property", "ended_at"], name="tracking_open")]


class Tracker(VersionedRecord):
    """Somebody on foot: where, since when, and when they said to be back.

    Without a ``person`` it is somebody from outside (a dog's handler) with name and number.
    Each new word of ``back_by`` begins a new ladder of questions, as for a sit.
    """

    tracking = models.ForeignKey(Tracking, on_delete=models.PROTECT, related_name="trackers")
    person = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="tracked"
    )
    name = models.CharField(max_length=200, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    area = models.CharField(max_length=300)
    joined_at = models.DateTimeField()
    back_by = models.DateTimeField()
    left_at = models.DateTimeField(null=True, blank=True)
    ladder_number = models.PositiveSmallIntegerField(default=1)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(person__isnull=False, name="", phone="")
                | (models.Q(person__isnull=True) & ~models.Q(name="")),
                name="tracker_is_somebody",
            ),
            models.UniqueConstraint(
                fields=["tracking", "person"],
                condition=models.Q(left_at__isnull=True, person__isnull=False),
                name="tracker_is_out_once",
            ),
        ]
        indexes = [models.Index(fields=["left_at", "back_by"], name="tracker_out")]


class TrackerNotice(Record):
    """One rung of a tracker's ladder, raised; the constraint keeps it from being raised twice."""

    tracker = models.ForeignKey(Tracker, on_delete=models.PROTECT, related_name="notices")
    ladder_number = models.PositiveSmallIntegerField()
    rung = models.PositiveSmallIntegerField(choices=RUNG_CHOICES)
    raised_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["tracker", "ladder_number", "rung"], name="tracker_rung_raised_once"
            ),
        ]


class Leave(models.TextChoices):
    YES = "yes"
    ASK_FIRST = "ask_first"
    NO = "no"


class Neighbour(VersionedRecord, Retirable):
    """Whose ground lies beside the property, and what they allow somebody who tracks a deer."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="neighbours")
    name = models.CharField(max_length=200)
    phone = models.CharField(max_length=40, blank=True)
    ground = models.CharField(max_length=300)
    may_enter = models.CharField(max_length=10, choices=Leave, default=Leave.ASK_FIRST)
    with_dog = models.CharField(max_length=10, choices=Leave, default=Leave.ASK_FIRST)
    with_weapon = models.CharField(max_length=10, choices=Leave, default=Leave.ASK_FIRST)
    notes = models.CharField(max_length=500, blank=True)
    asked_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "name", "ground"],
                condition=models.Q(retired_at__isnull=True),
                name="neighbour_known_once_on_property",
            ),
        ]

"""Templates of a property's year, and the items of its weeks."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from coop.records import Retirable, VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from scheduling.worklist.practice import Task
from scheduling.worklist.weeks import Anchor

TASKS = [(task.value, task.value.replace("_", " ").capitalize()) for task in Task]
ANCHORS = [(anchor.value, anchor.value.replace("_", " ").capitalize()) for anchor in Anchor]


class WorkTemplate(VersionedRecord, Retirable):
    """What comes every year, so many weeks after an anchor (before it below zero).

    ``practice_key`` names the line of the common year it was copied from; "" for one that the
    manager added. Taken out (retired), a line of the common year does not come back.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="work_templates")
    practice_key = models.CharField(max_length=40, blank=True)
    task = models.CharField(max_length=20, choices=TASKS)
    title = models.CharField(max_length=200)
    anchor = models.CharField(max_length=15, choices=ANCHORS)
    month_day = models.CharField(max_length=5, blank=True)
    offset_weeks = models.SmallIntegerField(
        default=0, validators=[MinValueValidator(-52), MaxValueValidator(52)]
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(anchor=Anchor.DAY.value) & ~Q(month_day=""))
                | (~Q(anchor=Anchor.DAY.value) & Q(month_day="")),
                name="work_template_day_for_its_anchor",
            ),
            models.UniqueConstraint(
                fields=["property", "practice_key"],
                condition=~Q(practice_key=""),
                name="work_template_once_for_each_practice",
            ),
        ]


class WorkState(models.TextChoices):
    OPEN = "open"
    DONE = "done"
    SKIPPED = "skipped"
    FELL_AWAY = "fell_away"


class AboutKind(models.TextChoices):
    PROPERTY = "property"
    STAND = "stand"
    SCRAPE = "scrape"
    CAMERA = "camera"
    LEASE = "lease"
    ERRAND = "errand"
    SEASON = "season"


class WorkItem(VersionedRecord):
    """One piece of work of one week; ``week_on`` is the week's Monday.

    ``origin_key`` says what it was derived from (a template and a season's year, an errand, an
    inspection that lapses, a silent camera, a date of the lease), so that nothing is written
    twice; "" for one that was added by hand. ``moved_at``: somebody chose the week, and no
    change of an anchor moves it any more. ``fell_away``: the fact behind it is gone.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="work_items")
    template = models.ForeignKey(
        WorkTemplate, null=True, blank=True, on_delete=models.PROTECT, related_name="items"
    )
    origin_key = models.CharField(max_length=120, blank=True)
    task = models.CharField(max_length=20, choices=TASKS)
    title = models.CharField(max_length=200)
    week_on = models.DateField()
    due_on = models.DateField()
    about_kind = models.CharField(max_length=10, choices=AboutKind, default=AboutKind.PROPERTY)
    about_id = models.UUIDField()
    state = models.CharField(max_length=10, choices=WorkState, default=WorkState.OPEN)
    moved_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["property", "origin_key"],
                condition=~Q(origin_key=""),
                name="work_item_once_for_each_origin",
            ),
            models.CheckConstraint(
                condition=Q(state=WorkState.DONE, done_at__isnull=False)
                | (~Q(state=WorkState.DONE) & Q(done_at__isnull=True)),
                name="work_item_done_at_an_instant",
            ),
        ]
        indexes = [models.Index(fields=["property", "week_on", "state"], name="work_item_weeks")]

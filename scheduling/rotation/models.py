"""Rotation plans: computed as drafts, published by people."""

from django.db import models

from coop.records import Record, VersionedRecord
from properties.land.models import Cooperative, Property
from properties.people.models import Person
from properties.sessions.kinds import SessionKind
from properties.stands.models import Stand

SESSION_KINDS = [(kind.value, kind.value) for kind in SessionKind]


class PlanState(models.TextChoices):
    DRAFT = "draft"
    PUBLISHED = "published"
    SUPERSEDED = "superseded"
    STALE = "stale"


class RotationPlan(VersionedRecord):
    """One solved plan for the properties of a group that shares members.

    ``problem`` is the problem as it was solved and ``fingerprint`` its digest: a plan is
    published only while the problem built afresh still has the same one. ``result`` holds
    the value, bound and gap of each level; ``relaxations``, once asked for, what single
    loosened rules would serve.
    """

    cooperative = models.ForeignKey(
        Cooperative, on_delete=models.PROTECT, related_name="rotation_plans"
    )
    properties = models.ManyToManyField(Property, related_name="rotation_plans")
    first_on = models.DateField()
    last_on = models.DateField()
    state = models.CharField(max_length=12, choices=PlanState, default=PlanState.DRAFT)
    fingerprint = models.CharField(max_length=64)
    problem = models.JSONField()
    result = models.JSONField()
    explanations = models.JSONField(default=list)
    relaxations = models.JSONField(null=True, blank=True)
    computed_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            # Whoever may not see drafts is shown plans by this instant.
            models.CheckConstraint(
                condition=models.Q(
                    state__in=[PlanState.PUBLISHED, PlanState.SUPERSEDED],
                    published_at__isnull=False,
                )
                | models.Q(state__in=[PlanState.DRAFT, PlanState.STALE], published_at__isnull=True),
                name="plan_is_published_at_an_instant",
            ),
        ]


class PlannedSeat(Record):
    """One member in one stand in one session of a plan.

    ``guests`` are ids of persons who sit there along. ``continues_morning``: the evening of an
    all-day sit, whose morning has a row of its own.
    """

    plan = models.ForeignKey(RotationPlan, on_delete=models.CASCADE, related_name="seats")
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="+")
    stand = models.ForeignKey(Stand, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    local_date = models.DateField()
    kind = models.CharField(max_length=10, choices=SESSION_KINDS)
    guests = models.JSONField(default=list, blank=True)
    quality_pct = models.FloatField()
    locked = models.BooleanField(default=False)
    continues_morning = models.BooleanField(default=False)
    sit_id = models.UUIDField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "person", "local_date", "kind"], name="planned_once_a_session"
            ),
        ]

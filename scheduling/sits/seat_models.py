"""A seat taken, its life, and the claims that keep it from being taken twice."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.people.models import Outfitter, Person
from properties.sessions.kinds import SessionKind
from properties.stands.models import Stand
from properties.wind.models import ForecastIssue

SESSION_KINDS = [(kind.value, kind.value) for kind in SessionKind]


class SitSpan(models.TextChoices):
    MORNING = "morning"
    EVENING = "evening"
    ALL_DAY = "all_day"


class SitState(models.TextChoices):
    BOOKED = "booked"
    CHECKED_IN = "checked_in"
    CHECKED_OUT = "checked_out"
    REPORTED = "reported"
    CANCELLED = "cancelled"
    MISSED = "missed"


STANDING_STATES = (SitState.BOOKED, SitState.CHECKED_IN)
"""A seat somebody holds: still to come, or under way."""


class SitOrigin(models.TextChoices):
    BOOKED = "booked"
    ROTATION = "rotation"


class Sit(VersionedRecord):
    """A seat taken: one person in one stand for one session, or for both of a day.

    Identity is the property's local date and span; the UTC window is frozen when booked.
    ``fit``, ``sector_per_mille`` and ``issue`` keep what was known then; ``observed_sector``
    is filled from observed wind or the sit's own report. A guest's sit is a row of its own
    and names its host; so does a young hunter's, whose host ``is_supervising``: the party's
    one ``weapon`` is the young hunter's. ``checked_in_at`` and ``checked_out_at`` are the true
    times, ``..._entered_at`` when they were told. ``excused_at``: a missed sit no longer counts.
    ``back_by`` is the hunter's own word for a later return (tracking a deer); each such word
    begins a new ladder of questions. ``acknowledged_at`` ends the present one. ``tracked_at`` is
    when a deer of this sit was first tracked, which disturbs like a shot.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="sits")
    stand = models.ForeignKey(Stand, on_delete=models.PROTECT, related_name="sits")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sits")
    host = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="hosted_sits"
    )
    outfitter = models.ForeignKey(
        Outfitter, null=True, blank=True, on_delete=models.PROTECT, related_name="sits"
    )
    local_date = models.DateField()
    span = models.CharField(max_length=10, choices=SitSpan)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=SitState, default=SitState.BOOKED)
    origin = models.CharField(max_length=10, choices=SitOrigin, default=SitOrigin.BOOKED)
    origin_plan_id = models.UUIDField(null=True, blank=True)
    lock_reason = models.CharField(max_length=100, blank=True)
    is_supervising = models.BooleanField(default=False)
    weapon = models.CharField(max_length=20, blank=True)
    issue = models.ForeignKey(
        ForecastIssue, null=True, blank=True, on_delete=models.PROTECT, related_name="sits"
    )
    fit = models.FloatField(null=True, blank=True)
    sector_per_mille = models.JSONField(default=list, blank=True)
    observed_sector = models.PositiveSmallIntegerField(null=True, blank=True)
    overrule_reason = models.CharField(max_length=300, blank=True)
    tracked_at = models.DateTimeField(null=True, blank=True)
    checked_in_at = models.DateTimeField(null=True, blank=True)
    checked_out_at = models.DateTimeField(null=True, blank=True)
    check_in_entered_at = models.DateTimeField(null=True, blank=True)
    check_out_entered_at = models.DateTimeField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancel_reason = models.CharField(max_length=300, blank=True)
    excused_at = models.DateTimeField(null=True, blank=True)
    back_by = models.DateTimeField(null=True, blank=True)
    ladder_number = models.PositiveSmallIntegerField(default=1)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(checked_out_at__isnull=True)
                | models.Q(checked_out_at__gte=models.F("checked_in_at")),
                name="sit_left_after_it_was_reached",
            ),
            models.CheckConstraint(
                condition=models.Q(ends_at__gt=models.F("starts_at")),
                name="sit_ends_after_it_begins",
            ),
        ]
        indexes = [
            models.Index(fields=["property", "local_date"], name="sit_by_property_day"),
            models.Index(fields=["stand", "local_date"], name="sit_by_stand_day"),
            models.Index(fields=["person", "local_date"], name="sit_by_person_day"),
        ]


class SeatClaim(models.Model):
    """One seat of one stand in one session, and one person's one place in it.

    Rows exist only while the sit stands; the two constraints are the last guard against
    double booking. An all-day sit claims both sessions.
    """

    sit = models.ForeignKey(Sit, on_delete=models.CASCADE, related_name="claims")
    stand = models.ForeignKey(Stand, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    local_date = models.DateField()
    kind = models.CharField(max_length=10, choices=SESSION_KINDS)
    seat_number = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["stand", "local_date", "kind", "seat_number"], name="seat_claimed_once"
            ),
            models.UniqueConstraint(
                fields=["person", "local_date", "kind"], name="person_in_one_place_a_session"
            ),
        ]

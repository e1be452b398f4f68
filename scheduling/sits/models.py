"""Wishes, sits, the seats they claim, and what was reported of them."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from coop.records import Record, VersionedRecord
from properties.land.models import Property
from properties.people.models import Outfitter, Person
from properties.sessions.kinds import SessionKind
from properties.stands.models import Stand
from properties.wind.models import ForecastIssue
from scheduling.sits.harvest_columns import HarvestColumns

SESSION_KINDS = [(kind.value, kind.value) for kind in SessionKind]


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


class SitReport(VersionedRecord):
    """What the hunter reported: wind as felt, deer alarmed, condition of the stand.

    ``wind_felt_quarters`` are up to four objects, one for each quarter of the session, with
    ``quarter`` (1 to 4), ``from_deg`` and ``speed_mps``; the two columns beside it are the
    mean of the whole sit. ``deer_alarmed`` is the sum over the alarms.
    """

    sit = models.OneToOneField(Sit, on_delete=models.PROTECT, related_name="report")
    reported_at = models.DateTimeField()
    wind_felt_quarters = models.JSONField(default=list, blank=True)
    wind_felt_from_deg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(360)]
    )
    wind_felt_speed_mps = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(60)]
    )
    deer_alarmed = models.PositiveSmallIntegerField(default=0)
    shots = models.PositiveSmallIntegerField(default=0)
    stand_condition = models.CharField(max_length=300, blank=True)
    stand_unsafe = models.BooleanField(default=False)
    incident = models.TextField(blank=True)
    notes = models.TextField(blank=True)


class DeerSex(models.TextChoices):
    BUCK = "buck"
    DOE = "doe"
    UNKNOWN = "unknown"


KNOWN_SEXES = [(sex.value, sex.value) for sex in (DeerSex.BUCK, DeerSex.DOE)]


class AgeClass(models.TextChoices):
    FAWN = "fawn"
    YEARLING = "yearling"
    ADULT = "adult"
    UNKNOWN = "unknown"


class Sighting(Record):
    """Deer seen during a sit, by sex and age class; unknown is a class."""

    report = models.ForeignKey(SitReport, on_delete=models.CASCADE, related_name="sightings")
    sex = models.CharField(max_length=10, choices=DeerSex, default=DeerSex.UNKNOWN)
    age_class = models.CharField(max_length=10, choices=AgeClass, default=AgeClass.UNKNOWN)
    count = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    distance_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])


class AlarmSense(models.TextChoices):
    WINDED = "winded"
    SAW = "saw"
    HEARD = "heard"
    UNKNOWN = "unknown"


class DeerAlarm(Record):
    """Deer that noticed the hunter: how, where from the stand, and when."""

    report = models.ForeignKey(SitReport, on_delete=models.CASCADE, related_name="alarms")
    sense = models.CharField(max_length=10, choices=AlarmSense, default=AlarmSense.UNKNOWN)
    count = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    happened_at = models.DateTimeField(null=True, blank=True)
    distance_m = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0)])
    bearing_deg = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(360)]
    )
    where = models.CharField(max_length=200, blank=True)


class HarvestClass(models.TextChoices):
    ANTLERED = "antlered"
    ANTLERLESS = "antlerless"


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

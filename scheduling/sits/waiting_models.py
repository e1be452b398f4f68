"""The waiting list: who would take a seat that is not free now."""

from django.db import models

from coop.records import VersionedRecord
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand
from scheduling.sits.models import Sit, SitSpan


class WaitingState(models.TextChoices):
    WAITING = "waiting"
    OFFERED = "offered"
    BOOKED = "booked"
    LEFT = "left"
    ENDED = "ended"


OPEN_STATES = (WaitingState.WAITING, WaitingState.OFFERED)


class WaitingEntry(VersionedRecord):
    """One person waits for one seat: of ``stand``, or of any stand of the property (None).

    ``starts_at`` is when the session's window opens, which ends the waiting. While an entry
    is ``offered``, a seat of ``offered_stand`` is held for it until ``answer_by``. ``sit`` is
    what became of a booked one; ``outcome`` says in words why an entry ended.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="waiting_entries")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="waiting_entries")
    stand = models.ForeignKey(
        Stand, null=True, blank=True, on_delete=models.PROTECT, related_name="waiting_entries"
    )
    local_date = models.DateField()
    span = models.CharField(max_length=10, choices=SitSpan)
    starts_at = models.DateTimeField()
    weapon = models.CharField(max_length=20, blank=True)
    state = models.CharField(max_length=10, choices=WaitingState, default=WaitingState.WAITING)
    asked_at = models.DateTimeField()
    offered_stand = models.ForeignKey(
        Stand, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    answer_by = models.DateTimeField(null=True, blank=True)
    sit = models.OneToOneField(
        Sit, null=True, blank=True, on_delete=models.PROTECT, related_name="waiting_entry"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "property", "local_date", "span"],
                condition=models.Q(state__in=["waiting", "offered"]),
                name="person_waits_once_for_a_session",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="offered")
                | models.Q(offered_stand__isnull=False, answer_by__isnull=False),
                name="seat_offered_to_waiting_until_a_time",
            ),
        ]
        indexes = [
            models.Index(fields=["property", "local_date", "state"], name="waiting_by_day"),
        ]

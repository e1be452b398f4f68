"""Work to be done on the land."""

from collections.abc import Mapping

from django.db import models

from coop.records import VersionedRecord
from properties.incidents.models import Incident
from properties.land.models import Property
from properties.people.models import Person
from properties.stands.models import Stand
from scrapes.cameras.models import CameraUnit
from scrapes.sites.models import Scrape


class ErrandKind(models.TextChoices):
    REFRESH_SCENT = "refresh_scent"
    CHECK_CAMERA = "check_camera"
    REPAIR_SCRAPE = "repair_scrape"
    TRIM = "trim"
    INSPECT_STAND = "inspect_stand"
    MEND = "mend"


THINGS = ("scrape", "camera", "stand")
THING_OF_KIND: Mapping[str, str] = {
    ErrandKind.REFRESH_SCENT: "scrape",
    ErrandKind.REPAIR_SCRAPE: "scrape",
    ErrandKind.CHECK_CAMERA: "camera",
    ErrandKind.INSPECT_STAND: "stand",
}
"""What an errand of a kind is about; the others may be about any of :data:`THINGS`."""


class ErrandState(models.TextChoices):
    OPEN = "open"
    DONE = "done"
    CANCELLED = "cancelled"


class Errand(VersionedRecord):
    """One thing to do, why, and when going there does least harm.

    While it is open there is one errand for each (kind, thing): ``thing_id`` is the id of
    the scrape, camera, stand or incident it is about. Nobody is sent twice for one thing.
    ``recurs``: the calendar opened it, and opens it again when its time has come round.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="errands")
    kind = models.CharField(max_length=20, choices=ErrandKind)
    thing_id = models.UUIDField()
    scrape = models.ForeignKey(
        Scrape, null=True, blank=True, on_delete=models.PROTECT, related_name="errands"
    )
    camera = models.ForeignKey(
        CameraUnit, null=True, blank=True, on_delete=models.PROTECT, related_name="errands"
    )
    stand = models.ForeignKey(
        Stand, null=True, blank=True, on_delete=models.PROTECT, related_name="errands"
    )
    incident = models.ForeignKey(
        Incident, null=True, blank=True, on_delete=models.PROTECT, related_name="errands"
    )
    state = models.CharField(max_length=10, choices=ErrandState, default=ErrandState.OPEN)
    recurs = models.BooleanField(default=False)
    reason = models.CharField(max_length=500)
    facts = models.JSONField(default=dict, blank=True)
    due_on = models.DateField()
    advice = models.CharField(max_length=500, blank=True)
    go_from = models.DateTimeField(null=True, blank=True)
    go_until = models.DateTimeField(null=True, blank=True)
    assignee = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="errands"
    )
    reminded_at = models.DateTimeField(null=True, blank=True)
    reminders_sent = models.PositiveSmallIntegerField(default=0)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    done_note = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "thing_id"],
                condition=models.Q(state="open"),
                name="one_open_errand_for_each_thing",
            ),
        ]
        indexes = [models.Index(fields=["property", "state", "due_on"], name="errand_list")]

"""Who counts as a young hunter, and who supervises them; read by few."""

from django.db import models

from coop.records import VersionedRecord
from properties.people.models import Person


class YouthRecord(VersionedRecord):
    """That somebody counts as a young hunter through ``youth_until``, whatever the law calls it.

    No date of birth and no age is kept. ``supervisor`` and ``other_supervisor`` may name the
    young person along in their own bookings, as a host may name a guest.
    """

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="youth")
    youth_until = models.DateField()
    supervisor = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="supervised"
    )
    other_supervisor = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="also_supervised"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(person=models.F("supervisor"))
                & ~models.Q(person=models.F("other_supervisor")),
                name="youth_supervised_by_somebody_else",
            ),
        ]

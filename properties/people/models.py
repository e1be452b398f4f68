"""Persons, their papers, their roles; outfitters and what is shared with them."""

from django.conf import settings
from django.db import models

from coop.access.roles import Role
from coop.records import Record, Retirable, VersionedRecord
from properties.land.models import Cooperative, Property


class Units(models.TextChoices):
    US = "us"
    METRIC = "metric"


class Person(VersionedRecord, Retirable):
    """Somebody the cooperative knows: member, landowner, coordinator, guest, client.

    A guest or an outfitter's client has a ``host`` and no account. ``vehicle`` is what the
    landowner finds parked: make, colour, plate. Of whoever was erased (``erased_at``) nothing
    is left but the row that their sits and harvests point at.
    """

    cooperative = models.ForeignKey(Cooperative, on_delete=models.PROTECT, related_name="persons")
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="person",
    )
    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    vehicle = models.CharField(max_length=120, blank=True)
    units = models.CharField(max_length=10, choices=Units, default=Units.US)
    host = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="guests"
    )
    emergency_contact_name = models.CharField(max_length=200, blank=True)
    emergency_contact_phone = models.CharField(max_length=40, blank=True)

    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        indexes = [models.Index(fields=["cooperative", "name"], name="person_by_name")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(erased_at=None)
                | models.Q(
                    user=None,
                    retired_at__isnull=False,
                    email="",
                    phone="",
                    vehicle="",
                    emergency_contact_name="",
                    emergency_contact_phone="",
                ),
                name="erased_person_keeps_no_data",
            ),
        ]


class Member(VersionedRecord):
    """A person's membership: since when, and their share of the season's sits.

    ``priority_points`` let whoever has them (youth, disabled hunters, as the cooperative
    decides) come before others when sits are planned. Why they have them is not stored.
    """

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="member")
    joined_on = models.DateField()
    entitlement_weight = models.PositiveSmallIntegerField(default=1)
    priority_points = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(entitlement_weight__gte=1), name="member_has_a_share"
            ),
            models.CheckConstraint(
                condition=models.Q(priority_points__lte=10), name="member_comes_before_by_little"
            ),
        ]


class RoleGrant(Record):
    """One role of one person: on one property, or on the whole cooperative (coordinator)."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="role_grants")
    role = models.CharField(max_length=20, choices=[(role.value, role.value) for role in Role])
    property = models.ForeignKey(
        Property, null=True, blank=True, on_delete=models.PROTECT, related_name="role_grants"
    )
    cooperative = models.ForeignKey(
        Cooperative, null=True, blank=True, on_delete=models.PROTECT, related_name="role_grants"
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    role=Role.COORDINATOR, cooperative__isnull=False, property__isnull=True
                )
                | models.Q(
                    role__in=[Role.MANAGER, Role.MEMBER, Role.LANDOWNER],
                    cooperative__isnull=True,
                    property__isnull=False,
                ),
                name="role_held_where_it_belongs",
            ),
            models.UniqueConstraint(
                fields=["person", "role", "property"],
                condition=models.Q(revoked_at__isnull=True, property__isnull=False),
                name="one_standing_role_on_property",
            ),
            models.UniqueConstraint(
                fields=["person", "role", "cooperative"],
                condition=models.Q(revoked_at__isnull=True, cooperative__isnull=False),
                name="one_standing_role_in_cooperative",
            ),
        ]


class Paper(VersionedRecord):
    """A paper with an expiry: a licence, hunter education, a signed waiver."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(max_length=40)
    expires_on = models.DateField(null=True, blank=True)
    confirmed_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "kind"], name="one_paper_of_each_kind"),
        ]


class Outfitter(VersionedRecord, Retirable):
    """Another organisation whose own app offers its clients open sits."""

    cooperative = models.ForeignKey(
        Cooperative, on_delete=models.PROTECT, related_name="outfitters"
    )
    name = models.CharField(max_length=200)
    application = models.OneToOneField(
        settings.OAUTH2_PROVIDER_APPLICATION_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="outfitter",
    )
    contact_name = models.CharField(max_length=200, blank=True)
    contact_email = models.EmailField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["cooperative", "name"], name="outfitter_name_unique_in_cooperative"
            ),
        ]


class PropertyShare(Record):
    """A property shared with an outfitter until it is revoked."""

    outfitter = models.ForeignKey(Outfitter, on_delete=models.PROTECT, related_name="shares")
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="shares")
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["outfitter", "property"],
                condition=models.Q(revoked_at__isnull=True),
                name="property_shared_once_with_outfitter",
            ),
        ]

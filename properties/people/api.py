"""Persons and their guests over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.authentication import actor_of
from coop.access.roles import Action, Role
from coop.api.fields import VisibleField
from coop.api.preconditions import edit_matched
from coop.api.views import DetailViewSet
from properties.land.queries import cooperatives_visible_to
from properties.people import erasure, invitations, queries, role_services, services
from properties.people.models import Person, RoleGrant

CONTACT_FIELDS = (
    "email",
    "phone",
    "vehicle",
    "units",
    "emergency_contact_name",
    "emergency_contact_phone",
)


class PersonSerializer(serializers.ModelSerializer[Person]):
    """A person as the reader may know them: how to reach somebody is null unless shown."""

    null_unless_shown = CONTACT_FIELDS
    cooperative = VisibleField(cooperatives_visible_to)
    host = VisibleField(queries.persons_visible_to, read_only=True, allow_null=True)
    contact_shown = serializers.BooleanField(
        read_only=True, help_text="Whether you may read this person's contact fields"
    )

    class Meta:
        model = Person
        fields = [
            "id",
            "cooperative",
            "name",
            "host",
            "contact_shown",
            *CONTACT_FIELDS,
            "version",
            "retired_at",
            "erased_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "erased_at", "created_at", "updated_at"]

    def to_representation(self, instance: Person) -> dict[str, Any]:
        shown = super().to_representation(instance)
        if not getattr(instance, "contact_shown", False):
            shown |= {"contact_shown": False, **dict.fromkeys(self.null_unless_shown)}
        return shown


class PersonChangeSerializer(PersonSerializer):
    """A person stays in their cooperative."""

    cooperative = VisibleField(cooperatives_visible_to, read_only=True)


class GuestSerializer(PersonSerializer):
    """A guest belongs to a host's cooperative and can be called for in an emergency."""

    cooperative = VisibleField(cooperatives_visible_to, read_only=True)
    host = VisibleField(queries.persons_visible_to, required=False, help_text="You, when left out")
    emergency_contact_name = serializers.CharField(max_length=200)
    emergency_contact_phone = serializers.CharField(max_length=40)


class PersonFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(
        method="later", help_text="holds a role on this property, as far as you may know"
    )
    role = django_filters.ChoiceFilter(
        choices=[(role.value, role.value) for role in Role if role is not Role.APPLICATION],
        method="later",
        help_text="holds this role",
    )
    host = django_filters.UUIDFilter(field_name="host_id")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = Person
        fields = ["host"]

    def later(self, rows: QuerySet[Person], _name: str, _value: Any) -> QuerySet[Person]:
        return rows

    def filter_queryset(self, queryset: QuerySet[Person]) -> QuerySet[Person]:
        """Property and role have to meet in one grant, among those whose holders are seen."""
        rows = super().filter_queryset(queryset)
        property_id = self.form.cleaned_data.get("property")
        role = self.form.cleaned_data.get("role")
        if not (property_id or role):
            return rows
        grants = RoleGrant.objects.filter(revoked_at=None)
        actor = actor_of(self.request)
        if not actor.is_system:
            known = grants.filter(property__in=actor.properties_for(Action.PERSON_READ))
            grants = known | grants.filter(cooperative__in=queries.coordinated_by(actor))
        if property_id:
            grants = grants.filter(property=property_id)
        if role:
            grants = grants.filter(role=role)
        return rows.filter(id__in=grants.values("person_id"))


class InvitationSerializer(serializers.Serializer[Any]):
    sent_to = serializers.EmailField()
    expires_at = serializers.DateTimeField()


class ErasureSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(
        max_length=200, help_text="As it stands on record, so that nobody else is meant"
    )


class PersonViewSet(mixins.ListModelMixin, DetailViewSet):
    """Who belongs to a property. How to reach them is shown to managers and to themselves."""

    tag = "people"
    needs = {
        "list": Action.PERSON_READ,
        "retrieve": Action.PERSON_READ,
        "create": Action.PERSON_CREATE,
        "partial_update": Action.PERSON_WRITE,
        "retire": Action.ROLE_WRITE,
        "erase": Action.PERSON_ERASE,
        "invite": Action.PERSON_WRITE,
    }
    serializer_class = PersonSerializer
    filterset_class = PersonFilter
    # Names only: a search by telephone number would tell whose it is.
    search_fields = ["name"]

    def get_queryset(self) -> QuerySet[Person]:
        return queries.persons_shown_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "Somebody new",
                value={
                    "cooperative": "0193a1c2-0000-7000-8000-000000000001",
                    "name": "Ada Example",
                    "email": "ada@example.org",
                    "phone": "555-0100",
                    "vehicle": "green pickup, plate ABC 123",
                    "units": "us",
                    "emergency_contact_name": "Ben Example",
                    "emergency_contact_phone": "555-0101",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Add a person to a cooperative (coordinators); roles are granted apart."""
        fields = self.read(PersonSerializer)
        person = services.create_person(
            actor=self.actor, cooperative=fields.pop("cooperative"), fields=fields, now=self.now
        )
        return self._shown(person, status=201, location=f"/api/v1/persons/{person.id}/")

    @extend_schema(request=PersonChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a person, or how you yourself are reached (`If-Match` needed).

        A name is changed by whoever manages every property where the person holds a role, or by
        the coordinator; of a guest, where the host does.
        """
        person = self.find(self.get_queryset(), pk)
        changes = self.read(PersonChangeSerializer, partial=True)
        return self._shown(
            edit_matched(
                request=request,
                row=person,
                edit=lambda locked: services.change_person(
                    actor=self.actor, person=locked, changes=changes, now=self.now
                ),
            )
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Somebody leaves: every role of theirs ends at once (coordinators)."""
        person = self.find(self.get_queryset(), pk)
        return self._shown(
            role_services.retire_person(actor=self.actor, person=person, now=self.now)
        )

    @extend_schema(
        request=ErasureSerializer,
        examples=[
            OpenApiExample("Whom it is about", value={"name": "Ada Example"}, request_only=True)
        ],
    )
    @action(detail=True, methods=["post"])
    def erase(self, request: Request, pk: str) -> Response:
        """Erase the data of somebody who has left (coordinators). Nothing brings it back.

        Sits, harvests and figures stay, of an "Erased person". `still_needed` (409) names under
        `obstacles` what has to end first. See [Erasing a person](/docs/erasure/).
        """
        person = self.find(self.get_queryset(), pk)
        name = self.read(ErasureSerializer)["name"]
        return self._shown(
            erasure.erase_person(actor=self.actor, person=person, name=name, now=self.now)
        )

    @extend_schema(request=None, responses={202: InvitationSerializer})
    @action(detail=True, methods=["post"])
    def invite(self, request: Request, pk: str) -> Response:
        """Send somebody a letter with a link to an account of their own; at most one a day."""
        person = self.find(self.get_queryset().select_related("cooperative"), pk)
        sent = invitations.invite(actor=self.actor, person=person, now=self.now)
        return Response(InvitationSerializer(sent).data, status=202)

    def _shown(self, person: Person, **answer: Any) -> Response:
        return self.answer(self.find(self.get_queryset(), person.id), **answer)


class GuestViewSet(mixins.ListModelMixin, DetailViewSet):
    """Guests: each has a host, and somebody to call in an emergency."""

    tag = "people"
    needs = {
        "list": Action.PERSON_READ,
        "retrieve": Action.PERSON_READ,
        "create": Action.GUEST_WRITE,
        "retire": Action.GUEST_WRITE,
    }
    serializer_class = GuestSerializer
    filterset_class = PersonFilter
    search_fields = ["name"]

    def get_queryset(self) -> QuerySet[Person]:
        return queries.guests_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "My guest",
                value={
                    "name": "Gus Example",
                    "emergency_contact_name": "Gail Example",
                    "emergency_contact_phone": "555-0102",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Add a guest of your own; managers may name another host."""
        fields = self.read(GuestSerializer)
        guest = services.create_guest(
            actor=self.actor, host=fields.pop("host", None), fields=fields, now=self.now
        )
        return self.answer(
            self.find(self.get_queryset(), guest.id),
            status=201,
            location=f"/api/v1/guests/{guest.id}/",
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a guest off the list (the host, or the host's manager)."""
        guest = self.find(self.get_queryset(), pk)
        services.retire_guest(actor=self.actor, guest=guest, now=self.now)
        return self.answer(self.find(self.get_queryset(), pk))

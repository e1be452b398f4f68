"""Roles on properties, and what the caller holds, over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action, Role
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet, DetailViewSet
from properties.land.queries import cooperatives_visible_to, properties_visible_to
from properties.people import queries, role_services
from properties.people.api import PersonSerializer
from properties.people.models import RoleGrant

GRANTED_ROLES = [(role.value, role.value) for role in Role if role is not Role.APPLICATION]


class RoleGrantSerializer(serializers.ModelSerializer[RoleGrant]):
    person = VisibleField(queries.persons_visible_to)
    name = serializers.CharField(source="person.name", read_only=True)
    role = serializers.ChoiceField(choices=GRANTED_ROLES)
    property = VisibleField(
        properties_visible_to,
        required=False,
        allow_null=True,
        help_text="For a manager, member or landowner",
    )
    cooperative = VisibleField(
        cooperatives_visible_to, required=False, allow_null=True, help_text="For a coordinator"
    )

    class Meta:
        model = RoleGrant
        fields = [
            "id",
            "person",
            "name",
            "role",
            "property",
            "cooperative",
            "revoked_at",
            "created_at",
        ]
        read_only_fields = ["id", "revoked_at", "created_at"]
        # The database holds one standing role; the service says so by field.
        validators: list[Any] = []


class RoleGrantFilter(django_filters.FilterSet):
    person = django_filters.UUIDFilter(field_name="person_id")
    property = django_filters.UUIDFilter(field_name="property_id")
    role = django_filters.ChoiceFilter(choices=GRANTED_ROLES)
    revoked = django_filters.BooleanFilter(
        field_name="revoked_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = RoleGrant
        fields = ["role"]


class RoleGrantViewSet(mixins.ListModelMixin, DetailViewSet):
    """Who holds which role where."""

    tag = "people"
    needs = {
        "list": Action.ROLE_READ,
        "retrieve": Action.ROLE_READ,
        "create": Action.ROLE_WRITE,
        "revoke": Action.ROLE_WRITE,
    }
    serializer_class = RoleGrantSerializer
    filterset_class = RoleGrantFilter

    def get_queryset(self) -> QuerySet[RoleGrant]:
        return queries.role_grants_visible_to(actor=self.actor).select_related("person")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A member of one property",
                value={
                    "person": "0193a1c2-0000-7000-8000-000000000002",
                    "role": "member",
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Grant a role (coordinators)."""
        fields = self.read(RoleGrantSerializer)
        grant = role_services.grant_role(
            actor=self.actor,
            person=fields["person"],
            role=Role(fields["role"]),
            land=fields.get("property"),
            cooperative=fields.get("cooperative"),
            now=self.now,
        )
        return self.answer(grant, status=201, location=f"/api/v1/roles/{grant.id}/")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, pk: str) -> Response:
        """Revoke a role; it ends at once (coordinators)."""
        grant = self.find(self.get_queryset(), pk)
        return self.answer(role_services.revoke_role(actor=self.actor, grant=grant, now=self.now))


class HeldRoleSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    name = serializers.CharField()
    cooperative = serializers.UUIDField()
    roles = serializers.ListField(child=serializers.ChoiceField(choices=list(Role)))


class MeSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField(help_text="person or application")
    name = serializers.CharField()
    units = serializers.CharField(allow_null=True, help_text="us or metric; null without a person")
    person = PersonSerializer(allow_null=True)
    properties = HeldRoleSerializer(many=True)


class MeViewSet(ActorViewSet):
    """Who the caller is to this cooperative."""

    tag = "people"
    own_only = ("list",)
    pagination_class = None
    filter_backends = []
    serializer_class = MeSerializer

    @extend_schema(operation_id="me_retrieve", responses=MeSerializer)
    def list(self, request: Request) -> Response:
        """The caller's person, units, and roles by property."""
        actor = self.actor
        persons = queries.persons_shown_to(actor=actor)
        person = persons.filter(id=actor.person_id).first() if actor.person_id else None
        held = properties_visible_to(actor=actor).filter(retired_at=None).order_by("name", "id")
        me = {
            "kind": actor.kind.value,
            "name": person.name if person else actor.name,
            "units": person.units if person else None,
            "person": person,
            "properties": [
                {
                    "property": land.id,
                    "name": land.name,
                    "cooperative": land.cooperative_id,
                    "roles": sorted(actor.roles_on(land.id)),
                }
                for land in held
            ],
        }
        return Response(MeSerializer(me, context=self.get_serializer_context()).data)

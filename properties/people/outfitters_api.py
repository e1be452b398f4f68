"""Outfitters and the properties shared with them, over HTTP."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.land.queries import cooperatives_visible_to, properties_visible_to
from properties.people import outfitter_services as services
from properties.people import queries
from properties.people.models import Outfitter, PropertyShare


class OutfitterSerializer(serializers.ModelSerializer[Outfitter]):
    cooperative = VisibleField(cooperatives_visible_to)

    class Meta:
        model = Outfitter
        fields = [
            "id",
            "cooperative",
            "name",
            "contact_name",
            "contact_email",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]


class OutfitterChangeSerializer(OutfitterSerializer):
    """An outfitter stays in its cooperative."""

    cooperative = VisibleField(cooperatives_visible_to, read_only=True)


class OutfitterCredentialSerializer(OutfitterSerializer):
    """An outfitter with its application's credential, told this once."""

    client_id = serializers.CharField(read_only=True)
    client_secret = serializers.CharField(
        read_only=True, help_text="Told once; ask for tokens with it at /oauth/token/"
    )

    class Meta(OutfitterSerializer.Meta):
        fields = [*OutfitterSerializer.Meta.fields, "client_id", "client_secret"]


class PropertyShareSerializer(serializers.ModelSerializer[PropertyShare]):
    outfitter = VisibleField(queries.outfitters_visible_to)
    property = VisibleField(properties_visible_to)

    class Meta:
        model = PropertyShare
        fields = ["id", "outfitter", "property", "revoked_at", "created_at"]
        read_only_fields = ["id", "revoked_at", "created_at"]
        validators: list[object] = []


class OutfitterFilter(django_filters.FilterSet):
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = Outfitter
        fields: list[str] = []


class PropertyShareFilter(django_filters.FilterSet):
    outfitter = django_filters.UUIDFilter(field_name="outfitter_id")
    property = django_filters.UUIDFilter(field_name="property_id")
    revoked = django_filters.BooleanFilter(
        field_name="revoked_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = PropertyShare
        fields: list[str] = []


class OutfitterViewSet(mixins.ListModelMixin, DetailViewSet):
    """Other organisations whose own apps offer their clients open sits."""

    tag = "outfitters"
    needs = {
        "list": Action.OUTFITTER_READ,
        "retrieve": Action.OUTFITTER_READ,
        "create": Action.OUTFITTER_WRITE,
        "partial_update": Action.OUTFITTER_WRITE,
        "renew_secret": Action.OUTFITTER_WRITE,
        "retire": Action.OUTFITTER_WRITE,
    }
    serializer_class = OutfitterSerializer
    filterset_class = OutfitterFilter
    search_fields = ["name"]

    def get_queryset(self) -> QuerySet[Outfitter]:
        return queries.outfitters_visible_to(actor=self.actor)

    @extend_schema(
        responses={201: OutfitterCredentialSerializer},
        examples=[
            OpenApiExample(
                "An outfitter",
                value={
                    "cooperative": "0193a1c2-0000-7000-8000-000000000001",
                    "name": "Example Outfitters",
                    "contact_name": "Olga Example",
                    "contact_email": "olga@example.org",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Add an outfitter; its application's id and secret are told in this answer only."""
        fields = self.read(OutfitterSerializer)
        outfitter, credential = services.create_outfitter(
            actor=self.actor, cooperative=fields.pop("cooperative"), fields=fields, now=self.now
        )
        location = f"/api/v1/outfitters/{outfitter.id}/"
        return self._told_once(outfitter, credential, status=201, location=location)

    @extend_schema(request=OutfitterChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change an outfitter (`If-Match` needed)."""
        outfitter = self.find(self.get_queryset(), pk)
        changes = self.read(OutfitterChangeSerializer, partial=True)
        return self.answer_edit(
            outfitter,
            lambda locked: services.change_outfitter(
                actor=self.actor, outfitter=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None, responses=OutfitterCredentialSerializer)
    @action(detail=True, methods=["post"], url_path="renew-secret")
    def renew_secret(self, request: Request, pk: str) -> Response:
        """Replace the application's secret; old tokens end at once."""
        outfitter, credential = services.renew_secret(
            actor=self.actor, outfitter=self.find(self.get_queryset(), pk), now=self.now
        )
        return self._told_once(outfitter, credential)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """End the work with an outfitter: its shares are revoked and its tokens end."""
        outfitter = self.find(self.get_queryset(), pk)
        return self.answer(
            services.retire_outfitter(actor=self.actor, outfitter=outfitter, now=self.now)
        )

    def _told_once(
        self,
        outfitter: Outfitter,
        credential: services.Credential,
        *,
        status: int = 200,
        location: str | None = None,
    ) -> Response:
        answer = self.answer(outfitter, status=status, location=location)
        answer.data |= vars(credential)
        answer.headers["Cache-Control"] = "no-store"
        return answer


class PropertyShareViewSet(mixins.ListModelMixin, DetailViewSet):
    """Which property is shared with which outfitter."""

    tag = "outfitters"
    needs = {
        "list": Action.OUTFITTER_READ,
        "retrieve": Action.OUTFITTER_READ,
        "create": Action.OUTFITTER_WRITE,
        "revoke": Action.OUTFITTER_WRITE,
    }
    serializer_class = PropertyShareSerializer
    filterset_class = PropertyShareFilter

    def get_queryset(self) -> QuerySet[PropertyShare]:
        return queries.shares_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "Share a property",
                value={
                    "outfitter": "0193a1c2-0000-7000-8000-000000000004",
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Share a property with an outfitter (coordinators)."""
        fields = self.read(PropertyShareSerializer)
        share = services.share_property(
            actor=self.actor,
            outfitter=fields["outfitter"],
            land=fields["property"],
            now=self.now,
        )
        return self.answer(share, status=201, location=f"/api/v1/shares/{share.id}/")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def revoke(self, request: Request, pk: str) -> Response:
        """End a share; it ends at once (coordinators)."""
        share = self.find(self.get_queryset(), pk)
        return self.answer(services.revoke_share(actor=self.actor, share=share, now=self.now))

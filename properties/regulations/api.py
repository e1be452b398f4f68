"""Regulations as a property's settings over HTTP: entered by managers, shown to everybody."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet, KnownParametersFilter
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from properties.leases.uses import CameraUse
from properties.regulations import queries, services
from properties.regulations.kinds import OrangeWhen, RegulationKind
from properties.regulations.models import Regulation
from properties.regulations.words import regulation_words
from properties.sessions.api import SeasonSerializer
from properties.sessions.confirmation import NOTICE


class RegulationValueSerializer(serializers.Serializer[Any]):
    """What a value holds: of these the members of its kind, and no others.

    `weekly_closed_days`: weekdays. `orange`: when, what. `scents`: names. `feed`, `minerals`:
    permitted. `cameras`: cameras. `picture_delay`: hours. `disease_area`: area, sampling_first_on,
    sampling_last_on, sampling, carcass_transport. `shooting_light`: before_sunrise_min,
    after_sunset_min (negative: after sunrise, before sunset).
    """

    weekdays = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=7),
        required=False,
        help_text="ISO numbers, 1 Monday to 7 Sunday",
    )
    when = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in OrangeWhen], required=False
    )
    what = serializers.CharField(required=False, allow_blank=True, max_length=500)
    names = serializers.ListField(
        child=serializers.CharField(max_length=60),
        required=False,
        help_text="The only scents permitted; an empty list permits none",
    )
    permitted = serializers.BooleanField(required=False)
    cameras = serializers.ChoiceField(
        choices=[(one.value, one.value) for one in CameraUse], required=False
    )
    hours = serializers.FloatField(required=False, min_value=0, max_value=8_760)
    area = serializers.CharField(required=False, max_length=500)
    sampling_first_on = serializers.DateField(required=False)
    sampling_last_on = serializers.DateField(required=False)
    sampling = serializers.CharField(required=False, allow_blank=True, max_length=500)
    carcass_transport = serializers.CharField(required=False, allow_blank=True, max_length=500)
    before_sunrise_min = serializers.FloatField(required=False, min_value=-120, max_value=60)
    after_sunset_min = serializers.FloatField(required=False, min_value=-120, max_value=60)

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        unknown = sorted(set(data) - set(self.fields)) if isinstance(data, dict) else []
        if unknown:
            raise serializers.ValidationError(
                {name: f"Unknown; known: {', '.join(self.fields)}." for name in unknown}
            )
        # Dates stay text, as they are stored.
        return dict(self.to_representation(super().to_internal_value(data)))

    def to_representation(self, value: Any) -> dict[str, Any]:
        return {
            name: one.isoformat() if hasattr(one, "isoformat") else one
            for name, one in value.items()
        }


class RegulationSerializer(serializers.ModelSerializer[Regulation]):
    property = VisibleField(properties_visible_to)
    kind = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in RegulationKind])
    value = RegulationValueSerializer()
    sentence = serializers.SerializerMethodField(help_text="The value in words")
    source_url = serializers.URLField(help_text="The state's page on which it was read: required")
    last_on = serializers.DateField(
        required=False, allow_null=True, help_text="Null: until another is entered"
    )
    is_unconfirmed = serializers.SerializerMethodField(
        help_text="More than a year has passed since somebody entered or confirmed it"
    )
    notice = serializers.SerializerMethodField(help_text="What this is, and is not")

    class Meta:
        model = Regulation
        fields = [
            "id",
            "property",
            "kind",
            "value",
            "sentence",
            "first_on",
            "last_on",
            "source_url",
            "notes",
            "entered_by",
            "entered_at",
            "confirmed_by",
            "confirmed_at",
            "is_unconfirmed",
            "withdrawn_at",
            "notice",
            "version",
            "created_at",
        ]
        read_only_fields = [
            "id",
            "entered_by",
            "entered_at",
            "confirmed_by",
            "confirmed_at",
            "withdrawn_at",
            "version",
            "created_at",
        ]

    def get_sentence(self, regulation: Regulation) -> str:
        return regulation_words(regulation.kind, regulation.value)

    def get_is_unconfirmed(self, regulation: Regulation) -> bool:
        return queries.is_value_unconfirmed(regulation, now=timezone.now())

    def get_notice(self, _regulation: Regulation) -> str:
        return NOTICE


class RegulationChangeSerializer(RegulationSerializer):
    """A value stays on its property and of its kind."""

    property = VisibleField(properties_visible_to, read_only=True)
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.value) for kind in RegulationKind], read_only=True
    )


class WithdrawRegulationSerializer(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300, required=False, allow_blank=True, default="")


class OnADaySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    on = serializers.DateField(help_text="A local date of the property")


class OrangeSerializer(serializers.Serializer[Any]):
    is_required = serializers.BooleanField()
    sentence = serializers.CharField()


class InForceSerializer(serializers.Serializer[queries.InForce]):
    """All that is entered for a property and holds on one local date."""

    property = serializers.UUIDField(source="land.id")
    on = serializers.DateField()
    notice = serializers.SerializerMethodField()
    is_closed_weekday = serializers.BooleanField()
    orange = OrangeSerializer()
    classes = serializers.ListField(
        child=serializers.CharField(),
        help_text="Classes of deer that the seasons of the day name; empty: none names any",
    )
    seasons = SeasonSerializer(many=True)
    values = RegulationSerializer(many=True)
    unconfirmed = serializers.SerializerMethodField(
        help_text="Seasons and kinds that nobody entered or confirmed within a year"
    )

    def get_notice(self, _found: queries.InForce) -> str:
        return NOTICE

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_unconfirmed(self, found: queries.InForce) -> list[str]:
        return list(queries.unconfirmed_names(found, now=timezone.now()))


class RegulationFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(
        choices=[(kind.value, kind.value) for kind in RegulationKind]
    )
    on = django_filters.DateFilter(
        method="covering", help_text="in force, and not withdrawn, on this local date"
    )

    class Meta:
        model = Regulation
        fields = ["property"]

    def covering(self, rows: QuerySet[Regulation], _name: str, value: Any) -> QuerySet[Regulation]:
        return rows.filter(
            Q(last_on=None) | Q(last_on__gte=value), first_on__lte=value, withdrawn_at=None
        )


class RegulationViewSet(mixins.ListModelMixin, DetailViewSet):
    """What managers read on their state's page and entered for a property, by date.

    The property's settings, not legal advice: read the state's page. No figure of law is built in.
    """

    tag = "regulations"
    needs = {
        "list": Action.REGULATION_READ,
        "retrieve": Action.REGULATION_READ,
        "in_force": Action.REGULATION_READ,
        "create": Action.REGULATION_WRITE,
        "partial_update": Action.REGULATION_WRITE,
        "confirm": Action.REGULATION_WRITE,
        "withdraw": Action.REGULATION_WRITE,
    }
    serializer_class = RegulationSerializer
    filterset_class = RegulationFilter
    page_order = ("-first_on", "-id")

    @property
    def extra_parameters(self) -> tuple[str, ...]:
        return ("property", "on") if self.action == "in_force" else ()

    def get_queryset(self) -> QuerySet[Regulation]:
        return queries.regulations_visible_to(actor=self.actor).select_related("property")

    @extend_schema(parameters=[OnADaySerializer], responses=InForceSerializer)
    @action(
        detail=False,
        url_path="in-force",
        filter_backends=[KnownParametersFilter],
        filterset_class=None,
        pagination_class=None,
    )
    def in_force(self, request: Request) -> Response:
        """Everything entered for a property that holds on a local date, in one answer."""
        self.filter_queryset(self.get_queryset())
        asked = OnADaySerializer(data=request.query_params, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        land = asked.validated_data["property"]
        self.actor.require(self.needed, land.id)
        found = queries.in_force(land, on=asked.validated_data["on"])
        return Response(InForceSerializer(found, context=self.get_serializer_context()).data)

    @extend_schema(
        examples=[
            OpenApiExample(
                "No cameras that send, until further notice",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "cameras",
                    "value": {"cameras": "not_transmitting"},
                    "first_on": "2025-09-01",
                    "source_url": "https://state.example/regulations/cameras",
                },
                request_only=True,
            ),
            OpenApiExample(
                "A disease area",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "disease_area",
                    "value": {
                        "area": "Invented Creek management area",
                        "sampling_first_on": "2025-11-08",
                        "sampling_last_on": "2025-11-09",
                        "carcass_transport": "Head and spine stay in the county.",
                    },
                    "first_on": "2025-09-01",
                    "last_on": "2026-02-28",
                    "source_url": "https://state.example/regulations/disease",
                },
                request_only=True,
            ),
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a value with the page it was read on (managers)."""
        fields = self.read(RegulationSerializer)
        regulation = services.enter_regulation(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(regulation, status=201, location=f"/api/v1/regulations/{regulation.id}/")

    @extend_schema(request=RegulationChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a value, its dates or its page (managers; `If-Match` needed)."""
        regulation = self.find(self.get_queryset(), pk)
        changes = self.read(RegulationChangeSerializer, partial=True)
        return self.answer_edit(
            regulation,
            lambda locked: services.change_regulation(
                actor=self.actor, regulation=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def confirm(self, request: Request, pk: str) -> Response:
        """You read the state's page again, and the value stands as it is (managers)."""
        regulation = self.find(self.get_queryset(), pk)
        return self.answer(
            services.confirm_regulation(actor=self.actor, regulation=regulation, now=self.now)
        )

    @extend_schema(request=WithdrawRegulationSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """It was entered in error; it counts for nothing any more (managers)."""
        regulation = self.find(self.get_queryset(), pk)
        fields = self.read(WithdrawRegulationSerializer)
        return self.answer(
            services.withdraw_regulation(
                actor=self.actor, regulation=regulation, now=self.now, **fields
            )
        )

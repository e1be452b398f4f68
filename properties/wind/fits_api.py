"""Fits over HTTP: where can I sit, why there, why not elsewhere."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import TIME_ZONE, LocalInstantField, VisibleField, with_zones
from coop.api.filters import FilterSet, IdsFilter
from coop.api.views import ActorViewSet, actor_of_view
from coop.jobs.api import StartedJobSerializer, started
from properties.land.queries import properties_visible_to
from properties.sessions.kinds import KIND_WORDS
from properties.wind import jobs, queries
from properties.wind.alternatives import alternatives_to
from properties.wind.answer import Verdict
from properties.wind.chain_schema import FitChainSerializer
from properties.wind.models import SESSION_KINDS, ForecastIssue, SessionFit

VERDICTS = [(verdict.value, verdict.value) for verdict in Verdict]
NAMES_PLACES = frozenset({"reasons", "features"})
"""Parts of the chain that name what is mapped, kept from whoever may not see the map."""
RIDE_NOTICE = (
    "A ride leaves no scent and no trail on the way; what the vehicle itself does to deer is "
    "not judged. Whether a way may be driven or walked is for the property's own rules to say."
)


class FitSerializer(serializers.ModelSerializer[SessionFit]):
    stand_name = serializers.CharField(source="stand.name")
    starts_at = LocalInstantField(place="property", read_only=True, allow_null=True)
    ends_at = LocalInstantField(place="property", read_only=True, allow_null=True)

    class Meta:
        model = SessionFit
        fields = [
            "id",
            "property",
            "stand",
            "stand_name",
            "local_date",
            "kind",
            "starts_at",
            "ends_at",
            "verdict",
            "fit",
            "worst_place",
            "main_reason",
            "gust_mps",
            "issue",
            "computed_at",
        ]
        read_only_fields = fields
        extra_kwargs = {"kind": {"help_text": KIND_WORDS}}

    def to_representation(self, row: SessionFit) -> dict[str, Any]:
        """Whoever may not see the map is not told which places on it decided."""
        shown = super().to_representation(row)
        if not actor_of_view(self.context).may(Action.FEATURE_READ, row.property_id):
            shown["main_reason"] = ""
        return shown


class ForecastUsedSerializer(serializers.ModelSerializer[ForecastIssue]):
    """The issue of the forecast that a fit was computed from."""

    class Meta:
        model = ForecastIssue
        fields = ["id", "source", "issued_at", "received_at"]
        read_only_fields = fields


class FitDetailSerializer(FitSerializer):
    """With the chain of numbers: hours, parts, reasons, sectors, and the forecast issue."""

    forecast = ForecastUsedSerializer(source="issue", allow_null=True)
    detail = serializers.SerializerMethodField()

    class Meta(FitSerializer.Meta):
        fields = [
            *FitSerializer.Meta.fields,
            "forecast",
            "sector_per_mille",
            "fingerprint",
            "detail",
        ]
        read_only_fields = fields

    @extend_schema_field(FitChainSerializer)
    def get_detail(self, row: SessionFit) -> dict[str, Any]:
        if actor_of_view(self.context).may(Action.FEATURE_READ, row.property_id):
            return row.detail
        return {name: value for name, value in row.detail.items() if name not in NAMES_PLACES}


class OtherWaySerializer(serializers.Serializer[Any]):
    """The same sit with another way in or out, judged as a whole."""

    part = serializers.ChoiceField(choices=[("approach", "approach"), ("exit", "exit")])
    way = serializers.CharField(help_text="A mapped access route, or “ride” for a vehicle")
    fit = serializers.FloatField(source="answer.fit")
    worst_place = serializers.FloatField(source="answer.worst_place")
    verdict = serializers.ChoiceField(choices=VERDICTS, source="answer.verdict.value")


class OtherSessionSerializer(serializers.ModelSerializer[SessionFit]):
    starts_at = LocalInstantField(read_only=True, allow_null=True)
    ends_at = LocalInstantField(read_only=True, allow_null=True)

    class Meta:
        model = SessionFit
        fields = ["id", "local_date", "kind", "starts_at", "ends_at", "fit", "verdict"]
        read_only_fields = fields
        extra_kwargs = {"kind": {"help_text": KIND_WORDS}}


class AlternativesSerializer(serializers.Serializer[Any]):
    """What would raise the fit of a sit, the best first; empty where nothing known does."""

    notice = serializers.CharField()
    ways = OtherWaySerializer(many=True)
    sessions = OtherSessionSerializer(many=True)


class RecomputeFitsSerializer(serializers.Serializer[dict[str, object]]):
    property = VisibleField(properties_visible_to)


class FitFilter(FilterSet):
    ids = IdsFilter()
    first_on = django_filters.DateFilter(field_name="local_date", lookup_expr="gte")
    last_on = django_filters.DateFilter(field_name="local_date", lookup_expr="lte")
    kind = django_filters.ChoiceFilter(choices=SESSION_KINDS, help_text=KIND_WORDS)
    verdict = django_filters.MultipleChoiceFilter(choices=VERDICTS)

    class Meta:
        model = SessionFit
        fields = ["property", "stand", "local_date", "kind", "verdict"]


class FitViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Fit of each stand in each session: whether this wind will betray this sit.

    A fit says what the model and the property's settings make of a forecast. It never says
    that a stand, a time or a shot is safe or lawful.
    """

    tag = "wind"
    needs = {
        "list": Action.FIT_READ,
        "retrieve": Action.FIT_READ,
        # Ways are named by what is mapped: whoever may not see the map is not told.
        "alternatives": Action.FEATURE_READ,
        "recompute": Action.WIND_WRITE,
    }
    serializer_class = FitSerializer
    filterset_class = FitFilter
    page_order = ("local_date", "-kind", "-fit", "id")

    def get_queryset(self) -> QuerySet[SessionFit]:
        fits = with_zones(queries.fits_visible_to(actor=self.actor).select_related("stand"))
        if self.action == "retrieve":
            return fits.select_related("issue").defer("issue__hours")
        return fits.defer("detail")

    @extend_schema(responses=FitDetailSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One fit with the chain of numbers behind it, hour by hour and part by part."""
        row = self.find(self.get_queryset(), pk)
        return Response(FitDetailSerializer(row, context=self.get_serializer_context()).data)

    @extend_schema(responses=AlternativesSerializer)
    @action(detail=True, pagination_class=None, filter_backends=[])
    def alternatives(self, request: Request, pk: str) -> Response:
        """Another way in or out, a ride, or another session with a better fit; computed.

        No ride where the lease of that day lets no vehicle on the land.
        """
        rows = queries.fits_visible_to(actor=self.actor)
        row = self.find(rows.select_related("stand", "property__cooperative", "issue"), pk)
        self.actor.require(self.needed, row.property_id)
        found = alternatives_to(row, now=self.now)
        told = {"notice": RIDE_NOTICE, "ways": found.ways, "sessions": found.sessions}
        context = {TIME_ZONE: row.property.time_zone}
        return Response(AlternativesSerializer(told, context=context).data)

    @extend_schema(request=RecomputeFitsSerializer, responses={202: StartedJobSerializer})
    @action(detail=False, methods=["post"])
    def recompute(self, request: Request) -> Response:
        """Compute the fits of a property anew; answers with the job to poll."""
        land = self.read(RecomputeFitsSerializer)["property"]
        self.actor.require(self.needed, land.id)
        run = jobs.queue_fits_of(
            property_id=land.id, now=self.now, requested_by_id=self.actor.account_id
        )
        return started(run)

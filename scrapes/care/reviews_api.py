"""Reviews of scrapes over HTTP: what each says, and starting one now."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import local_instant
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet, actor_of_view
from coop.jobs.api import StartedJobSerializer, started
from scrapes.care import jobs, queries
from scrapes.care.api import PropertyAskedSerializer
from scrapes.care.models import ReviewVerdict, ScrapeReview
from scrapes.visits.drop_question import Finding


class ScrapeReviewSerializer(serializers.ModelSerializer[ScrapeReview]):
    scrape_name = serializers.CharField(source="scrape.name", read_only=True)
    property = serializers.UUIDField(source="scrape.property_id", read_only=True)

    class Meta:
        model = ScrapeReview
        fields = [
            "id",
            "property",
            "scrape",
            "scrape_name",
            "reviewed_on",
            "verdict",
            "sentence",
            "care_asked",
            "created_at",
        ]
        read_only_fields = fields


class ScrapeReviewDetailSerializer(ScrapeReviewSerializer):
    """With every figure behind the verdict; cameras and named deer for those who may."""

    figures = serializers.SerializerMethodField()

    class Meta(ScrapeReviewSerializer.Meta):
        fields = [*ScrapeReviewSerializer.Meta.fields, "figures"]
        read_only_fields = fields

    @extend_schema_field(OpenApiTypes.OBJECT)
    def get_figures(self, row: ScrapeReview) -> dict[str, Any]:
        actor = actor_of_view(self.context)
        figures = scent_by_the_clock(row.figures, row.scrape.property.time_zone)
        if actor.may(Action.OBSERVATION_READ, row.scrape.property_id):
            return figures
        told = (Finding.CAMERA, Finding.BUCK_TAKEN)
        answers = [answer for answer in figures.get("answers", []) if answer["code"] not in told]
        hidden = ("cameras", "cameras_asked_about", "cameras_at_fault", "sentences")
        shown = {name: value for name, value in figures.items() if name not in hidden}
        return {**shown, "answers": answers}


def scent_by_the_clock(figures: Mapping[str, Any], time_zone: str) -> dict[str, Any]:
    """A review's figures; stored is in UTC when scent was put on."""
    scent = figures.get("scent")
    if scent is None:
        return dict(figures)
    told = local_instant(datetime.fromisoformat(scent["applied_at"]), time_zone)
    return {**figures, "scent": {**scent, "applied_at": told}}


class ScrapeReviewFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="scrape__property_id")
    verdict = django_filters.MultipleChoiceFilter(choices=ReviewVerdict.choices)
    first_on = django_filters.DateFilter(field_name="reviewed_on", lookup_expr="gte")
    last_on = django_filters.DateFilter(field_name="reviewed_on", lookup_expr="lte")

    class Meta:
        model = ScrapeReview
        fields = ["scrape", "reviewed_on", "verdict"]


class ScrapeReviewViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Reviews: has a scrape's use dropped, and is it the scrape? One a scrape and day."""

    tag = "scrapes"
    needs = {
        "list": Action.VISIT_READ,
        "retrieve": Action.VISIT_READ,
        "start": Action.JOB_START,
    }
    serializer_class = ScrapeReviewSerializer
    filterset_class = ScrapeReviewFilter
    page_order = ("-reviewed_on", "-id")

    def get_queryset(self) -> QuerySet[ScrapeReview]:
        rows = queries.reviews_told_to(actor=self.actor, now=self.now)
        if self.action == "retrieve":
            return rows.select_related("scrape__property")
        return rows.select_related("scrape").defer("figures")

    @extend_schema(responses=ScrapeReviewDetailSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One review with the chain of questions and every figure."""
        row = self.find(self.get_queryset(), pk)
        context = self.get_serializer_context()
        return Response(ScrapeReviewDetailSerializer(row, context=context).data)

    @extend_schema(request=PropertyAskedSerializer, responses={202: StartedJobSerializer})
    @action(detail=False, methods=["post"])
    def start(self, request: Request) -> Response:
        """Review the scrapes of a property now; answers with the job to poll."""
        land = self.read(PropertyAskedSerializer)["property"]
        self.actor.require(self.needed, land.id)
        run = jobs.queue_review(
            property_id=land.id, now=self.now, requested_by_id=self.actor.account_id
        )
        return started(run)

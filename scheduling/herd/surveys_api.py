"""Camera surveys over HTTP: kept, counted, and what the ratio makes of them."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.preconditions import edit_matched
from coop.api.views import DetailViewSet
from scheduling.herd import queries, services
from scheduling.herd.models import CameraSurvey
from scheduling.herd.survey_serializers import (
    CameraSurveyChangeSerializer,
    CameraSurveySerializer,
    SurveyPicturesSerializer,
)


class CameraSurveyFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = CameraSurvey
        fields: list[str] = []


class CameraSurveyViewSet(mixins.ListModelMixin, DetailViewSet):
    """Camera surveys by the buck-to-picture ratio, each with what speaks against it."""

    tag = "herd"
    needs = {
        "list": Action.HERD_READ,
        "retrieve": Action.HERD_READ,
        "create": Action.HERD_WRITE,
        "partial_update": Action.HERD_WRITE,
        "count": Action.HERD_WRITE,
        "pictures": Action.OBSERVATION_READ,
        "retire": Action.HERD_WRITE,
    }
    serializer_class = CameraSurveySerializer
    filterset_class = CameraSurveyFilter
    page_order = ("-first_on", "-id")

    def get_queryset(self) -> QuerySet[CameraSurvey]:
        return (
            queries.surveys_visible_to(actor=self.actor)
            .select_related("property__cooperative", "bucks_decided_by")
            .prefetch_related("cameras")
        )

    @extend_schema(
        examples=[
            OpenApiExample(
                "Two weeks in August, entered by hand",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "name": "August survey",
                    "first_on": "2025-08-10",
                    "last_on": "2025-08-23",
                    "area_m2": 2590000,
                    "buck_pictures": 320,
                    "doe_pictures": 480,
                    "fawn_pictures": 160,
                    "unknown_pictures": 40,
                    "unique_bucks": 24,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Open a survey (managers); its pictures are counted later, or entered now."""
        fields = self.read(CameraSurveySerializer)
        survey = services.create_survey(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self._shown(survey, status=201, location=f"/api/v1/camera-surveys/{survey.id}/")

    @extend_schema(request=CameraSurveyChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a survey, enter pictures, say how many bucks were told apart (`If-Match`)."""
        survey = self.find(self.get_queryset(), pk)
        changes = self.read(CameraSurveyChangeSerializer, partial=True)
        edited = edit_matched(
            request=request,
            row=survey,
            edit=lambda locked: services.change_survey(
                actor=self.actor, survey=locked, changes=changes, now=self.now
            ),
        )
        return self._shown(edited)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def count(self, request: Request, pk: str) -> Response:
        """Count the pictures of the survey's cameras over its days, in place of what stood."""
        survey = self.find(self.get_queryset(), pk)
        return self._shown(services.count_pictures(actor=self.actor, survey=survey, now=self.now))

    @extend_schema(responses=SurveyPicturesSerializer)
    @action(detail=True)
    def pictures(self, request: Request, pk: str) -> Response:
        """The pictures behind it, and the bucks named in them (managers)."""
        survey = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, survey.property_id)
        found = queries.pictures_of(survey)
        bucks = found.of(queries.DeerClass.BUCK)
        return Response(
            SurveyPicturesSerializer(
                {
                    "buck_pictures": bucks,
                    "doe_pictures": found.of(queries.DeerClass.DOE),
                    "fawn_pictures": found.of(queries.DeerClass.FAWN),
                    "unknown_pictures": found.of(queries.DeerClass.UNKNOWN),
                    "untagged": found.untagged,
                    "bucks_named": [
                        {"individual": name, "pictures": number}
                        for name, number in sorted(found.bucks_named.items())
                    ],
                    "buck_pictures_unnamed": bucks - sum(found.bucks_named.values()),
                }
            ).data
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a survey out of use; it stays readable."""
        survey = self.find(self.get_queryset(), pk)
        return self._shown(services.retire_survey(actor=self.actor, survey=survey, now=self.now))

    def _shown(self, survey: CameraSurvey, **more: Any) -> Response:
        return self.answer(self.find(self.get_queryset(), survey.id), **more)

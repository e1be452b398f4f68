"""Lines of the year over HTTP, from which each week's work is written."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from scheduling.worklist import item_services, queries
from scheduling.worklist.models import WorkTemplate


class WorkTemplateSerializer(serializers.ModelSerializer[WorkTemplate]):
    property = VisibleField(properties_visible_to)
    month_day = serializers.CharField(
        max_length=5,
        required=False,
        allow_blank=True,
        help_text="MM-DD, for the anchor day alone",
    )
    practice = serializers.SerializerMethodField(
        help_text="For a line of the common year: that it is common practice, no source"
    )

    class Meta:
        model = WorkTemplate
        fields = [
            "id",
            "property",
            "task",
            "title",
            "anchor",
            "month_day",
            "offset_weeks",
            "practice",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]

    def get_practice(self, template: WorkTemplate) -> str:
        return "Common practice, no source." if template.practice_key else ""


class WorkTemplateChangeSerializer(WorkTemplateSerializer):
    """A template stays with its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class WorkTemplateFilter(FilterSet):
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = WorkTemplate
        fields = ["property", "task", "anchor"]


class WorkTemplateViewSet(mixins.ListModelMixin, DetailViewSet):
    """What comes every year: weeks before or after the peak of breeding, the season's first or
    last day, or a day of the year. The common year is copied once, and is yours to change."""

    tag = "worklist"
    needs = {
        "list": Action.WORKLIST_READ,
        "retrieve": Action.WORKLIST_READ,
        "create": Action.WORKLIST_WRITE,
        "partial_update": Action.WORKLIST_WRITE,
        "retire": Action.WORKLIST_WRITE,
    }
    serializer_class = WorkTemplateSerializer
    filterset_class = WorkTemplateFilter
    page_order = ("title", "id")

    def get_queryset(self) -> QuerySet[WorkTemplate]:
        return queries.templates_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "Three weeks before the peak",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "task": "survey",
                    "title": "Count sign along the creek",
                    "anchor": "peak",
                    "offset_weeks": -3,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Add a line to the year."""
        fields = self.read(WorkTemplateSerializer)
        template = item_services.add_template(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(template, status=201, location=f"/api/v1/work-templates/{template.id}/")

    @extend_schema(request=WorkTemplateChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a line (`If-Match` needed); its open items follow when the list is written."""
        template = self.find(self.get_queryset(), pk)
        changes = self.read(WorkTemplateChangeSerializer, partial=True)
        return self.answer_edit(
            template,
            lambda locked: item_services.change_template(
                actor=self.actor, template=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a line out of the year for good."""
        template = self.find(self.get_queryset(), pk)
        return self.answer(
            item_services.retire_template(actor=self.actor, template=template, now=self.now)
        )

"""Files of evidence over HTTP: told, and handed out as attachments."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet, actor_of_view
from properties.incidents import queries
from properties.incidents.models import EvidenceContent, EvidenceFile, MediaType
from properties.incidents.renderers import RENDERERS, file_answer

_ANSWERS: Any = {(200, media_type): OpenApiTypes.BINARY for media_type in MediaType.values}


class EvidenceFileSerializer(serializers.ModelSerializer[EvidenceFile]):
    """A file of evidence; its bytes are at `content`."""

    holds_position = serializers.SerializerMethodField(
        help_text="Whether the original says where it was taken; null for whoever may not read it"
    )

    class Meta:
        model = EvidenceFile
        fields = [
            "id",
            "incident",
            "name",
            "media_type",
            "size_bytes",
            "width_px",
            "height_px",
            "digest",
            "holds_position",
            "uploaded_by",
            "created_at",
        ]
        read_only_fields = fields

    def get_holds_position(self, file: EvidenceFile) -> bool | None:
        actor = actor_of_view(self.context)
        may = actor.may(Action.INCIDENT_READ, file.incident.property_id)
        return file.holds_position if may else None


class EvidenceFileFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="incident__property")

    class Meta:
        model = EvidenceFile
        fields = ["incident"]


class EvidenceFileViewSet(mixins.ListModelMixin, DetailViewSet):
    """Evidence: managers read all of their property's, others what they uploaded themselves."""

    tag = "incidents"
    needs = {
        "list": Action.INCIDENT_REPORT,
        "retrieve": Action.INCIDENT_REPORT,
        "content": Action.INCIDENT_REPORT,
        "original": Action.INCIDENT_WRITE,
    }
    serializer_class = EvidenceFileSerializer
    filterset_class = EvidenceFileFilter
    page_order = ("-created_at", "-id")

    def get_queryset(self) -> QuerySet[EvidenceFile]:
        return queries.files_visible_to(actor=self.actor).select_related("incident")

    @extend_schema(responses=_ANSWERS)
    @action(detail=True, renderer_classes=RENDERERS)
    def content(self, request: Request, pk: str) -> Response:
        """The file as an attachment; a picture is drawn anew: no position, no metadata."""
        file = self.find(self.get_queryset(), pk)
        kept = EvidenceContent.objects.get(file=file)
        return file_answer(file, bytes(kept.original if kept.shown is None else kept.shown))

    @extend_schema(responses=_ANSWERS)
    @action(detail=True, renderer_classes=RENDERERS)
    def original(self, request: Request, pk: str) -> Response:
        """The file as it came, byte for byte, with whatever metadata it holds; for managers."""
        file = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, file.incident.property_id)
        return file_answer(file, bytes(EvidenceContent.objects.get(file=file).original))

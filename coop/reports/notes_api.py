"""Managers' notes over HTTP: what they tell landowners."""

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
from coop.reports import queries, services
from coop.reports.models import LandNote
from properties.land.queries import properties_visible_to


class LandNoteSerializer(serializers.ModelSerializer[LandNote]):
    property = VisibleField(properties_visible_to)
    feature = VisibleField(
        queries.mapped_features_visible_to,
        required=False,
        allow_null=True,
        help_text="Mapped feature on which work was done; marked on the landowner's plan",
    )

    class Meta:
        model = LandNote
        fields = [
            "id",
            "property",
            "happened_on",
            "topic",
            "what",
            "done",
            "feature",
            "version",
            "retired_at",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "retired_at", "created_at", "updated_at"]


class LandNoteChangeSerializer(LandNoteSerializer):
    """A note stays with its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class LandNoteFilter(FilterSet):
    class Meta:
        model = LandNote
        fields = {"property": ["exact"], "topic": ["exact"], "happened_on": ["gte", "lte"]}


class LandNoteViewSet(mixins.ListModelMixin, DetailViewSet):
    """What managers tell landowners: incidents, gates, damage, work, and what was done."""

    tag = "reports"
    needs = {
        "list": Action.LAND_NOTE_READ,
        "retrieve": Action.LAND_NOTE_READ,
        "create": Action.LAND_NOTE_WRITE,
        "partial_update": Action.LAND_NOTE_WRITE,
        "retire": Action.LAND_NOTE_WRITE,
    }
    serializer_class = LandNoteSerializer
    filterset_class = LandNoteFilter
    search_fields = ["what", "done"]

    def get_queryset(self) -> QuerySet[LandNote]:
        return queries.notes_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "A gate",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "happened_on": "2025-10-12",
                    "topic": "gate",
                    "what": "The lower gate stood open in the morning.",
                    "done": "Closed it; the chain was replaced on the 14th.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter a note; phone numbers, addresses and coordinates are refused."""
        fields = self.read(LandNoteSerializer)
        note = services.create_note(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(note, status=201, location=f"/api/v1/land-notes/{note.id}/")

    @extend_schema(request=LandNoteChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a note (`If-Match` needed)."""
        note = self.find(self.get_queryset(), pk)
        changes = self.read(LandNoteChangeSerializer, partial=True)
        return self.answer_edit(
            note,
            lambda locked: services.change_note(
                actor=self.actor, note=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take a note out of reports written from now on."""
        note = self.find(self.get_queryset(), pk)
        return self.answer(services.retire_note(actor=self.actor, note=note, now=self.now))

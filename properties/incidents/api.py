"""Incidents over HTTP: reported by anybody who belongs there, read by few."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.incidents import evidence_services, queries, services
from properties.incidents.files_api import EvidenceFileSerializer
from properties.incidents.models import FollowUp, Incident, IncidentKind, IncidentState
from properties.land.queries import properties_visible_to
from properties.stands.queries import stands_visible_to


class IncidentSerializer(serializers.ModelSerializer[Incident]):
    """An incident as whoever may read it in full, or reported it, sees it."""

    property = VisibleField(properties_visible_to)
    happened_at = LocalInstantField(place="property")
    stand = VisibleField(stands_visible_to, required=False, allow_null=True)
    longitude = serializers.FloatField(
        min_value=-180, max_value=180, required=False, allow_null=True
    )
    latitude = serializers.FloatField(min_value=-90, max_value=90, required=False, allow_null=True)
    place_words = serializers.CharField(
        max_length=300, required=False, allow_blank=True, help_text="Where, without a point"
    )
    what = serializers.CharField(
        max_length=4_000, help_text="What you saw yourself; suspicions are for the authorities"
    )
    reported_by_name = serializers.CharField(
        source="reported_by.name", default=None, read_only=True, allow_null=True
    )
    told_done = serializers.CharField(
        read_only=True, help_text="The sentence that the landowner reads; empty until released"
    )

    class Meta:
        model = Incident
        fields = [
            "id",
            "property",
            "kind",
            "happened_at",
            "longitude",
            "latitude",
            "place_words",
            "stand",
            "what",
            "reported_by",
            "reported_by_name",
            "state",
            "closed_at",
            "told_done",
            "told_at",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = [
            "id",
            "reported_by",
            "state",
            "closed_at",
            "told_at",
            "version",
            "created_at",
            "updated_at",
        ]


class IncidentChangeSerializer(IncidentSerializer):
    """An incident stays with its property."""

    property = VisibleField(properties_visible_to, read_only=True)


class EntrySerializer(serializers.Serializer[Any]):
    words = serializers.CharField(max_length=4_000)


class ReleaseSerializer(serializers.Serializer[Any]):
    done = serializers.CharField(
        max_length=300,
        help_text="What was done about it, for the landowner; name nobody who was not found "
        "guilty. Phone numbers, addresses and coordinates are refused",
    )


class ErrandWordsSerializer(serializers.Serializer[Any]):
    words = serializers.CharField(
        max_length=300, help_text="What is to be mended; read by whoever may do errands"
    )


class EvidenceUploadSerializer(serializers.Serializer[Any]):
    file = serializers.FileField(
        max_length=200, help_text="JPEG, PNG, WebP or PDF; judged by its content"
    )


class IncidentFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=IncidentKind.choices)
    state = django_filters.MultipleChoiceFilter(choices=IncidentState.choices)

    class Meta:
        model = Incident
        fields = {"property": ["exact"], "stand": ["exact"], "happened_at": ["gte", "lt"]}


class IncidentViewSet(mixins.ListModelMixin, DetailViewSet):
    """The log of incidents and trespass: managers read all of their property's, others what they
    reported themselves.

    It is no emergency call: where somebody is hurt or in danger, call the emergency number
    first. Confront nobody; what is a matter for the law goes to its officers.
    """

    tag = "incidents"
    needs = {
        "list": Action.INCIDENT_REPORT,
        "retrieve": Action.INCIDENT_REPORT,
        "create": Action.INCIDENT_REPORT,
        "partial_update": Action.INCIDENT_WRITE,
        "follow_up": Action.INCIDENT_WRITE,
        "close": Action.INCIDENT_WRITE,
        "release": Action.INCIDENT_WRITE,
        "take_back": Action.INCIDENT_WRITE,
        "ask_errand": Action.INCIDENT_WRITE,
        "add_file": Action.INCIDENT_WRITE,
    }
    serializer_class = IncidentSerializer
    filterset_class = IncidentFilter
    page_order = ("-happened_at", "-id")

    def get_queryset(self) -> QuerySet[Incident]:
        rows = queries.incidents_visible_to(actor=self.actor)
        return rows.select_related("property__cooperative", "reported_by")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A gate",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "kind": "open_gate",
                    "happened_at": "2025-11-08T06:10:00-06:00",
                    "place_words": "the lower gate on the creek road",
                    "what": "It stood open when I came, the chain lay on the ground.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Report an incident; the managers are told that there is something to read."""
        fields = self.read(IncidentSerializer)
        incident = services.report_incident(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(incident, status=201, location=f"/api/v1/incidents/{incident.id}/")

    @extend_schema(request=IncidentChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct what was entered (`If-Match` needed); the record keeps what stood before."""
        incident = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, incident.property_id)
        changes = self.read(IncidentChangeSerializer, partial=True)
        return self.answer_edit(
            incident,
            lambda locked: services.correct_incident(
                actor=self.actor, incident=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=EntrySerializer)
    @action(detail=True, methods=["post"], url_path="follow-up")
    def follow_up(self, request: Request, pk: str) -> Response:
        """Add what was found out or done; entries are never changed."""
        return self._with_entry(pk, services.follow_up)

    @extend_schema(request=EntrySerializer)
    @action(detail=True, methods=["post"])
    def close(self, request: Request, pk: str) -> Response:
        """Close it with a last entry."""
        return self._with_entry(pk, services.close_incident)

    @extend_schema(request=ReleaseSerializer)
    @action(detail=True, methods=["post"])
    def release(self, request: Request, pk: str) -> Response:
        """Let the landowner read kind, date and what was done; nothing else of it is told."""
        incident = self._for_managers(pk)
        fields = self.read(ReleaseSerializer)
        return self.answer(
            services.release_incident(actor=self.actor, incident=incident, now=self.now, **fields)
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request: Request, pk: str) -> Response:
        """Tell the landowner of it no more; reports already written keep it."""
        incident = self._for_managers(pk)
        return self.answer(services.take_back(actor=self.actor, incident=incident, now=self.now))

    @extend_schema(request=ErrandWordsSerializer)
    @action(detail=True, methods=["post"], url_path="ask-errand")
    def ask_errand(self, request: Request, pk: str) -> Response:
        """Have somebody sent to mend it: an errand opens with these words and no others."""
        incident = self._for_managers(pk)
        fields = self.read(ErrandWordsSerializer)
        return self.answer(
            services.ask_for_errand(actor=self.actor, incident=incident, now=self.now, **fields)
        )

    @extend_schema(
        request={"multipart/form-data": EvidenceUploadSerializer},
        responses={201: EvidenceFileSerializer},
    )
    @action(detail=True, methods=["post"], url_path="files", parser_classes=[MultiPartParser])
    def add_file(self, request: Request, pk: str) -> Response:
        """Add a picture or a PDF as evidence; it is judged by its content, not its name.

        For managers, and for whoever reported the incident.
        """
        incident = self.find(self.get_queryset(), pk)
        upload = self.read(EvidenceUploadSerializer)["file"]
        most = evidence_services.most_bytes_of(incident)
        if upload.size > most:
            raise serializers.ValidationError({"file": f"At most {most} bytes are taken here."})
        file = evidence_services.add_file(
            actor=self.actor,
            incident=incident,
            name=upload.name,
            content=upload.read(),
            now=self.now,
        )
        return Response(
            EvidenceFileSerializer(file, context=self.get_serializer_context()).data,
            status=201,
            headers={"Location": f"/api/v1/incident-files/{file.id}/"},
        )

    def _for_managers(self, pk: str) -> Incident:
        incident = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, incident.property_id)
        return incident

    def _with_entry(self, pk: str, enter: Any) -> Response:
        incident = self._for_managers(pk)
        fields = self.read(EntrySerializer)
        return self.answer(enter(actor=self.actor, incident=incident, now=self.now, **fields))


class FollowUpSerializer(serializers.ModelSerializer[FollowUp]):
    class Meta:
        model = FollowUp
        fields = ["id", "incident", "at", "entered_by", "words"]
        read_only_fields = fields


class FollowUpFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="incident__property")

    class Meta:
        model = FollowUp
        fields = ["incident"]


class FollowUpViewSet(mixins.ListModelMixin, DetailViewSet):
    """What was found out and done about incidents, entry by entry; for managers alone."""

    tag = "incidents"
    needs = {"list": Action.INCIDENT_READ, "retrieve": Action.INCIDENT_READ}
    serializer_class = FollowUpSerializer
    filterset_class = FollowUpFilter
    page_order = ("at", "id")

    def get_queryset(self) -> QuerySet[FollowUp]:
        return queries.follow_ups_visible_to(actor=self.actor)

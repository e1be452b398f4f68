"""Incidents that managers released, as landowners read them over HTTP."""

import django_filters
from django.db.models import QuerySet
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from properties.incidents import queries
from properties.incidents.models import Incident, IncidentKind
from properties.land.local_dates import local_date_on


class ToldIncidentSerializer(serializers.ModelSerializer[Incident]):
    """What a landowner reads of an incident: kind, date, and what was done."""

    happened_on = serializers.SerializerMethodField()
    done = serializers.CharField(source="told_done")

    class Meta:
        model = Incident
        fields = ["id", "property", "kind", "happened_on", "done", "told_at"]
        read_only_fields = fields

    def get_happened_on(self, incident: Incident) -> str:
        return local_date_on(incident.property, incident.happened_at).isoformat()


class ToldIncidentFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=IncidentKind.choices)

    class Meta:
        model = Incident
        fields = {"property": ["exact"], "happened_at": ["gte", "lt"]}


class ToldIncidentViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Incidents that a manager released to the landowner, in the short form of the month."""

    tag = "incidents"
    needs = {"list": Action.INCIDENT_TOLD, "retrieve": Action.INCIDENT_TOLD}
    serializer_class = ToldIncidentSerializer
    filterset_class = ToldIncidentFilter
    page_order = ("-happened_at", "-id")

    def get_queryset(self) -> QuerySet[Incident]:
        return queries.told_incidents_visible_to(actor=self.actor).select_related("property")

    def retrieve(self, request: Request, pk: str) -> Response:
        # Without the ETag: it would tell of versions that this caller does not see.
        return Response(self.get_serializer(self.find(self.get_queryset(), pk)).data)

"""Whether members are clear, over HTTP."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.people.queries import members_of
from scheduling.sits.standings import standings


def properties_with_cooperative(*, actor: Any) -> Any:
    return properties_visible_to(actor=actor).select_related("cooperative")


class StandingQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_with_cooperative)


class StandingSerializer(serializers.Serializer[Any]):
    """One member today; of dues whether they are clear, and nothing else."""

    person = serializers.UUIDField(source="person_id")
    name = serializers.CharField()
    papers_wrong = serializers.ListField(
        child=serializers.CharField(), help_text="Empty: every paper asked for is valid today"
    )
    dues_clear = serializers.BooleanField(help_text="Nothing past its date is unpaid")
    work_owed_h = serializers.FloatField(
        allow_null=True, help_text="Hours this year; null where the property asks for none"
    )
    work_done_h = serializers.FloatField(allow_null=True)
    work_due_on = serializers.DateField(allow_null=True)
    work_clear = serializers.BooleanField(help_text="Done, or not due yet")


class StandingViewSet(ActorViewSet):
    """Who is clear to book, as far as papers, dues and work days go."""

    tag = "people"
    needs = {"list": Action.STANDING_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = StandingSerializer

    @extend_schema(parameters=[StandingQuerySerializer], responses=StandingSerializer(many=True))
    def list(self, request: Request) -> Response:
        """The members of a property for its managers; for members their own line."""
        land: Property = read_query(self, StandingQuerySerializer)["property"]
        self.actor.require(self.needed, land.id)
        persons = members_of(property_id=land.id)
        if not self.actor.may(Action.MEMBER_READ, land.id):
            persons = persons.filter(id__in=[self.actor.person_id])
        found = standings(land=land, persons=list(persons), now=self.now)
        return Response(StandingSerializer(found, many=True).data)

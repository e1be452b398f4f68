"""The house rules as documentation, over HTTP."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import refuse_unknown_parameters
from coop.api.views import ActorViewSet
from scheduling.rules.catalogue import RULES
from scheduling.rules.rule import AppliesTo, LooksAt, Objection
from scheduling.sits.overlaps import OVERLAP


class ObjectionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="Stable")
    title = serializers.CharField()
    template = serializers.CharField(
        help_text="The sentence, its facts in braces; speed, distance or height behind a colon is "
        "written in the reader's units"
    )
    overrulable = serializers.BooleanField(help_text="By a manager with a reason")


class HouseRuleSerializer(serializers.Serializer[Any]):
    title = serializers.CharField()
    applies_to = serializers.CharField(help_text="booking, planning or both")
    looks_at = serializers.CharField()
    settings = serializers.ListField(child=serializers.CharField(), help_text="group/name")
    objections = ObjectionSerializer(many=True)


class HouseRuleViewSet(ActorViewSet):
    """Every house rule, in the order in which objections are listed."""

    tag = "sits"
    needs = {"list": Action.HOUSE_RULE_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = HouseRuleSerializer

    @extend_schema(responses=HouseRuleSerializer(many=True))
    def list(self, request: Request) -> Response:
        """What each rule says, what may be overruled, and which settings it reads."""
        refuse_unknown_parameters(request)
        self.require_somewhere()
        return Response([*map(_rule, RULES), _OVERLAP_RULE])


def _rule(rule: Any) -> dict[str, Any]:
    return {
        "title": rule.title,
        "applies_to": rule.applies_to.value,
        "looks_at": rule.looks_at.value,
        "settings": list(rule.settings),
        "objections": [_objection(each) for each in rule.objections],
    }


def _objection(objection: Objection) -> dict[str, Any]:
    return {
        "code": objection.code,
        "title": objection.title,
        "template": objection.template,
        "overrulable": objection.overrulable,
    }


# The store's own guard beside the catalogue: instants on two properties, which no plan of
# one group of properties can bring about.
_OVERLAP_RULE = {
    "title": "One place at a time",
    "applies_to": AppliesTo.BOOKING.value,
    "looks_at": LooksAt.SITS.value,
    "settings": [],
    "objections": [_objection(OVERLAP)],
}

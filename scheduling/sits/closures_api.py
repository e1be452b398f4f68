"""What was done about closed ground, for whoever closed it."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.views import ActorViewSet
from coop.jobs.models import JobState
from properties.land.models import Closure
from properties.land.queries import closures_visible_to
from scheduling.sits.closed_ground import MetSit, Outcome, outcome_of
from scheduling.sits.queries import standing_of

NOTHING_TO_PLAN = "nothing_to_plan"


class LetterSerializer(serializers.Serializer[Any]):
    state = serializers.CharField(
        help_text="waiting: about to leave; sent: handed on; dead: could not be handed on; "
        "withheld: its reader wants none"
    )
    sent_at = serializers.DateTimeField(allow_null=True)


class MetSitSerializer(serializers.Serializer[Any]):
    """A sit that the closure met; never an address or a number."""

    stand_name = serializers.CharField()
    local_date = serializers.DateField()
    span = serializers.CharField()
    name = serializers.CharField()
    standing = serializers.CharField(help_text="member, guest or client")
    through = serializers.CharField(help_text="A guest's host or a client's outfitter")
    what = serializers.ChoiceField(
        choices=["cancelled", "told_while_out"],
        help_text="Somebody who is checked in is told to leave, not cancelled",
    )
    letters = LetterSerializer(many=True, help_text="Empty: no address is known; telephone them")


class ReplanSerializer(serializers.Serializer[Any]):
    """How far the rotation is computed anew. What it gives is a draft that a person publishes."""

    state = serializers.ChoiceField(choices=[*JobState.values, NOTHING_TO_PLAN])
    due_at = serializers.DateTimeField(
        allow_null=True, help_text="It waits some minutes for further closures and forecasts"
    )
    finished_at = serializers.DateTimeField(allow_null=True)


class ClosureOutcomeSerializer(serializers.Serializer[Any]):
    closure = serializers.UUIDField()
    lifted_at = serializers.DateTimeField(allow_null=True)
    acted_at = serializers.DateTimeField(
        allow_null=True, help_text="When its sits were looked at; null: that is still to come"
    )
    stands = serializers.ListField(
        child=serializers.CharField(), help_text="Names of the stands that are closed by it now"
    )
    cancelled = serializers.IntegerField()
    told_while_out = serializers.IntegerField(
        help_text="Checked in there, or on foot tracking a deer; the latter stand in no sit"
    )
    letters_sent = serializers.IntegerField()
    letters_waiting = serializers.IntegerField()
    sits = MetSitSerializer(many=True)
    rotation = ReplanSerializer(allow_null=True, help_text="Null: still to come")


class ClosureOutcomeViewSet(ActorViewSet):
    """That what a closure asks for was done."""

    tag = "land"
    needs = {"outcome": Action.CLOSURE_OUTCOME}
    serializer_class = ClosureOutcomeSerializer

    def get_queryset(self) -> QuerySet[Closure]:
        rows = closures_visible_to(actor=self.actor)
        return rows.select_related("property__cooperative")

    @extend_schema(responses=ClosureOutcomeSerializer)
    @action(detail=True)
    def outcome(self, request: Request, pk: str) -> Response:
        """Sits cancelled, people told and when, and whether the rotation was computed anew."""
        closure = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, closure.property_id)
        return Response(ClosureOutcomeSerializer(_shown(outcome_of(closure))).data)


def _shown(outcome: Outcome) -> dict[str, Any]:
    told = (*(met.letters for met in outcome.met), *outcome.met_beside)
    states = [letter.state for letters in told for letter in letters]
    return {
        "closure": outcome.closure.id,
        "lifted_at": outcome.closure.lifted_at,
        "acted_at": outcome.acted_at,
        "stands": [stand.name for stand in outcome.stands],
        "cancelled": sum(not met.was_out for met in outcome.met),
        "told_while_out": sum(met.was_out for met in outcome.met) + len(outcome.met_beside),
        "letters_sent": states.count("sent"),
        "letters_waiting": states.count("waiting"),
        "sits": [_met(met) for met in outcome.met],
        "rotation": _replan(outcome),
    }


def _met(met: MetSit) -> dict[str, Any]:
    return {
        "stand_name": met.sit.stand.name,
        "local_date": met.sit.local_date,
        "span": met.sit.span,
        "name": met.sit.person.name,
        **standing_of(met.sit),
        "what": "told_while_out" if met.was_out else "cancelled",
        "letters": [{"state": letter.state, "sent_at": letter.sent_at} for letter in met.letters],
    }


def _replan(outcome: Outcome) -> dict[str, Any] | None:
    if outcome.acted_at is None:
        return None
    if outcome.run is None:
        return {"state": NOTHING_TO_PLAN, "due_at": None, "finished_at": None}
    run = outcome.run
    return {"state": run.state, "due_at": run.due_at, "finished_at": run.finished_at}

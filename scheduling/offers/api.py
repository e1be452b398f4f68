"""What can I sit? Over HTTP: each stand with its fit, everything that objects, who is near."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

import orjson
from django.core.exceptions import PermissionDenied
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import ActorKind
from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.preconditions import is_still_the_same
from coop.api.rendering import ReadyJSONRenderer
from coop.api.sparse import PARAMETER
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to, units_of
from properties.sessions.kinds import KIND_WORDS, SessionKind
from scheduling.offers.answers import Question, answered
from scheduling.offers.kept import Answer, AsOf, as_of
from scheduling.sits.asking import SessionDateField, check_days
from scheduling.sits.serializers import WEAPONS
from scheduling.sync.change_queries import cooperative_of

MOST_DAYS = 14


class OffersQuerySerializer(serializers.Serializer[Any]):
    """One ``date``, or ``first_on`` and ``last_on``, of one property or all of one's own."""

    property = VisibleField(properties_visible_to, required=False)
    date = SessionDateField(required=False, help_text="The property's local date")
    first_on = serializers.DateField(required=False)
    last_on = serializers.DateField(required=False, help_text="At most 14 days from `first_on`")
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.value) for kind in SessionKind],
        required=False,
        help_text=KIND_WORDS,
    )
    person = VisibleField(persons_visible_to, required=False, help_text="For whom (managers)")
    weapon = serializers.ChoiceField(choices=WEAPONS, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if "date" in attrs:
            if "first_on" in attrs or "last_on" in attrs:
                raise serializers.ValidationError({"date": "Give date, or first_on and last_on."})
            return {**attrs, "first_on": attrs["date"], "last_on": attrs["date"]}
        if "first_on" not in attrs or "last_on" not in attrs:
            raise serializers.ValidationError({"date": "Give date, or first_on and last_on."})
        check_days(attrs["first_on"], attrs["last_on"], at_most=MOST_DAYS)
        return attrs


class RefusalSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    sentence = serializers.CharField()
    facts = serializers.DictField()
    overrulable = serializers.BooleanField()


class NearbySerializer(serializers.Serializer[Any]):
    stand = serializers.UUIDField()
    stand_name = serializers.CharField()
    first_name = serializers.CharField(help_text="Empty where you may not know it")
    bearing_deg = serializers.FloatField(allow_null=True)
    distance_m = serializers.FloatField()


class OfferedStandSerializer(serializers.Serializer[Any]):
    stand = serializers.UUIDField()
    stand_name = serializers.CharField()
    offered = serializers.BooleanField()
    verdict = serializers.CharField(help_text="fit, marginal, unfit or unknown")
    fit = serializers.FloatField(allow_null=True)
    worst_place = serializers.FloatField(allow_null=True)
    main_reason = serializers.CharField()
    refusals = RefusalSerializer(many=True)
    free_seats = serializers.IntegerField()
    nearby = NearbySerializer(many=True)


class OfferedSessionSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField()
    property_name = serializers.CharField()
    local_date = serializers.DateField()
    kind = serializers.CharField(help_text=KIND_WORDS)
    starts_at = LocalInstantField(allow_null=True)
    ends_at = LocalInstantField(allow_null=True)
    stands = OfferedStandSerializer(many=True)


class OffersAnswerSerializer(serializers.Serializer[Any]):
    notice = serializers.CharField()
    sessions = OfferedSessionSerializer(many=True)


class OfferViewSet(ActorViewSet):
    """Where can I sit, why there, why not elsewhere?"""

    tag = "sits"
    needs = {"list": Action.FIT_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = OffersAnswerSerializer
    renderer_classes = [ReadyJSONRenderer]

    @extend_schema(
        parameters=[OffersQuerySerializer], responses={200: OffersAnswerSerializer, 304: None}
    )
    def list(self, request: Request) -> Response:
        """Each stand in each session: offered or not, its fit, refusals, free seats, who is near.

        In each session what suits comes first. Fits are read as computed from the latest
        forecast. With `If-None-Match` you ask whether the answer is still the same.
        """
        asked = read_query(self, OffersQuerySerializer)
        # Before anything that is judged by is read: what is written later is told as later.
        under = self._as_of()
        lands = self._lands(asked.get("property"))
        person = asked.get("person")
        if person is not None and person.id != self.actor.person_id:
            for land in lands:
                self.actor.require_to_name(
                    "person",
                    Action.SIT_MANAGE,
                    land.id,
                    why="Only a manager of the property asks for somebody else.",
                )
        question = Question(
            lands=lands,
            first_on=asked["first_on"],
            last_on=asked["last_on"],
            kinds=(SessionKind(asked["kind"]),) if "kind" in asked else tuple(SessionKind),
            person_id=self._person_id(person),
            weapon=asked.get("weapon"),
            names=self.actor.kind is not ActorKind.APPLICATION,
            units=units_of(self.actor),
        )
        return _response(request, answered(question, actor=self.actor, under=under, now=self.now))

    def _as_of(self) -> AsOf | None:
        try:
            return as_of(cooperative_id=cooperative_of(self.actor))
        except PermissionDenied:  # one who belongs nowhere
            return None

    def _lands(self, land: Property | None) -> Sequence[Property]:
        if land is not None:
            self.actor.require(self.needed, land.id)
        mine = properties_visible_to(actor=self.actor, action=self.needed).filter(retired_at=None)
        if land is not None:
            mine = mine.filter(id=land.id)
        return list(mine.select_related("cooperative").order_by("name", "id"))

    def _person_id(self, person: Any) -> UUID | None:
        if self.actor.kind is ActorKind.APPLICATION:
            if person is not None:
                raise PermissionDenied("an outfitter asks for its clients")
            return None
        return person.id if person is not None else self.actor.person_id


def _response(request: Request, answer: Answer) -> Response:
    headers = {"ETag": answer.etag, "Cache-Control": "private, no-cache", "Vary": "Authorization"}
    if is_still_the_same(request, answer.etag):
        return Response(status=304, headers=headers)
    is_cut = PARAMETER in request.GET
    return Response(orjson.loads(answer.body) if is_cut else answer.body, headers=headers)

"""What can I sit? Over HTTP: each stand with its fit, everything that objects, who is near."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import ActorKind
from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.fields import VisibleField
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to
from properties.sessions.kinds import KIND_WORDS, SessionKind
from properties.wind.models import SessionFit
from scheduling.sits.asking import check_days
from scheduling.offers.offers import Offer, offers
from scheduling.sits.problems import told, without_places
from scheduling.sits.serializers import WEAPONS

MOST_DAYS = 14


class OffersQuerySerializer(serializers.Serializer[Any]):
    """One ``date``, or ``first_on`` and ``last_on``, of one property or all of one's own."""

    property = VisibleField(properties_visible_to, required=False)
    date = serializers.DateField(required=False, help_text="The property's local date")
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
    starts_at = serializers.DateTimeField(allow_null=True)
    ends_at = serializers.DateTimeField(allow_null=True)
    stands = OfferedStandSerializer(many=True)


class OffersAnswerSerializer(serializers.Serializer[Any]):
    notice = serializers.CharField()
    sessions = OfferedSessionSerializer(many=True)


NOTICE = (
    "Offered means that this property's settings and the sits of others allow it; it says "
    "nothing about what is safe or lawful. Check your state's regulations."
)


class OfferViewSet(ActorViewSet):
    """Where can I sit, why there, why not elsewhere?"""

    tag = "sits"
    needs = {"list": Action.FIT_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = OffersAnswerSerializer

    @extend_schema(parameters=[OffersQuerySerializer], responses=OffersAnswerSerializer)
    def list(self, request: Request) -> Response:
        """Each stand in each session: offered or not, its fit, refusals, free seats, who is near.

        In each session what suits comes first. Fits are read as computed from the latest
        forecast.
        """
        asked = read_query(self, OffersQuerySerializer)
        lands = self._lands(asked.get("property"))
        person = asked.get("person")
        if person is not None and person.id != self.actor.person_id:
            for land in lands:
                self.actor.require(Action.SIT_MANAGE, land.id)
        found = offers(
            lands=lands,
            first_on=asked["first_on"],
            last_on=asked["last_on"],
            kinds=[SessionKind(asked["kind"])] if "kind" in asked else list(SessionKind),
            person_id=self._person_id(person),
            weapon=asked.get("weapon"),
            now=self.now,
        )
        names = self.actor.kind is not ActorKind.APPLICATION
        return Response({"notice": NOTICE, "sessions": list(_by_session(found, names=names))})

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


def _by_session(found: Iterable[Offer], *, names: bool) -> Iterable[dict[str, Any]]:
    def place(offer: Offer) -> tuple[int, str, str]:
        return offer.session.order, offer.land.name, str(offer.land.id)

    for _place, together in groupby(sorted(found, key=place), key=place):
        stands = list(together)
        first = stands[0]
        zone = ZoneInfo(first.land.time_zone)
        window = first.window
        yield {
            "property": first.land.id,
            "property_name": first.land.name,
            "local_date": first.session.local_date,
            "kind": first.session.kind.value,
            "starts_at": window.approach_from.astimezone(zone) if window else None,
            "ends_at": window.exit_until.astimezone(zone) if window else None,
            "stands": [_stand(offer, names=names) for offer in stands],
        }


def _reason(fit: SessionFit | None, *, names: bool) -> str:
    """Why, for whoever may see the map: reasons name what is mapped."""
    if fit is None:
        return "No forecast reaches this session yet."
    return fit.main_reason if names else ""


def _stand(offer: Offer, *, names: bool) -> dict[str, Any]:
    fit = offer.fit
    return {
        "stand": offer.stand.id,
        "stand_name": offer.stand.name,
        "offered": offer.offered,
        "verdict": fit.verdict if fit else "unknown",
        "fit": fit.fit if fit else None,
        "worst_place": fit.worst_place if fit else None,
        "main_reason": _reason(fit, names=names),
        "refusals": [
            told(refusal if names else without_places(refusal)) for refusal in offer.refusals
        ],
        "free_seats": offer.free_seats,
        "nearby": [
            {
                "stand": near.stand_id,
                "stand_name": near.stand_name,
                "first_name": near.first_name if names else "",
                "bearing_deg": near.bearing_deg,
                "distance_m": near.distance_m,
            }
            for near in offer.nearby
        ],
    }

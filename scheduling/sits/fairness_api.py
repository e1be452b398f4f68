"""How evenly a property's sits are shared: a manager sees all, a member their own place."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

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
from scheduling.sits.asking import check_days
from scheduling.sits.fairness import Prime, Share, from_worst_served, gini
from scheduling.sits.fairness_queries import shares_of
from scheduling.sits.harvest_years import season_year_of, season_year_span

LONGEST_DAYS = 366


class FairnessQuerySerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    first_on = serializers.DateField(
        required=False, help_text="The season's first day when left out"
    )
    last_on = serializers.DateField(required=False, help_text="The season's last day when left out")


class ShareSerializer(serializers.Serializer[Any]):
    """One member's place; 1 is the worst served, null where they neither asked nor sat."""

    person = serializers.UUIDField()
    name = serializers.CharField()
    entitlement_weight = serializers.IntegerField()
    asked = serializers.IntegerField(
        help_text="Sits wished for in requests that stand and whose days meet those asked about; a "
        "request counts whole. Sits booked without a request are not asked for here"
    )
    got = serializers.IntegerField(
        help_text="All sits booked or sat on these days, wished for or not: also those one booked "
        "oneself or took over. May be more than `asked`. All day counts once; cancelled and "
        "missed sits do not count, nor do guests' sits"
    )
    average_fit = serializers.FloatField(
        allow_null=True, help_text="0 to 1, over `sits_with_fit` alone; null where there is none"
    )
    sits_with_fit = serializers.IntegerField(
        help_text="Sits of `got` whose fit was known when they were booked"
    )
    prime_sits = serializers.IntegerField(help_text="Sits on prime days by the settings")
    prime_by_class = serializers.DictField(
        child=serializers.IntegerField(), help_text="Of them: opener, rut, weekend"
    )
    place_from_worst_served = serializers.IntegerField(allow_null=True)


class FairnessSerializer(serializers.Serializer[Any]):
    """Figures over those who asked or sat; a Gini of 0 means all alike, null that none sat."""

    property = serializers.UUIDField()
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    members_counted = serializers.IntegerField()
    gini_of_sits = serializers.FloatField(allow_null=True)
    gini_of_fit = serializers.FloatField(allow_null=True)
    worst_served = serializers.UUIDField(
        allow_null=True, help_text="Managers only; null for members"
    )
    members = ShareSerializer(many=True, help_text="Everybody for managers, else yourself")


class FairnessViewSet(ActorViewSet):
    """Asked and got, season to date, for each share of entitlement."""

    tag = "sits"
    needs = {"list": Action.REQUEST_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = FairnessSerializer

    @extend_schema(parameters=[FairnessQuerySerializer], responses=FairnessSerializer)
    def list(self, request: Request) -> Response:
        """How a property's sits are shared, with the worst served first."""
        asked = read_query(self, FairnessQuerySerializer)
        land: Property = asked["property"]
        self.actor.require(self.needed, land.id)
        begins_at, ends_at = season_year_span(season_year_of(self.now, land), land)
        zone = ZoneInfo(land.time_zone)
        first_on = asked.get("first_on", begins_at.astimezone(zone).date())
        season_ends_on = ends_at.astimezone(zone).date() - timedelta(days=1)
        last_on = asked.get("last_on", season_ends_on)
        check_days(first_on, last_on, at_most=LONGEST_DAYS)
        shares = shares_of(land=land, first_on=first_on, last_on=last_on)
        return Response(
            FairnessSerializer(
                {
                    "property": land.id,
                    "first_on": first_on,
                    "last_on": last_on,
                    **self._figures(land, shares),
                }
            ).data
        )

    def _figures(self, land: Property, shares: Sequence[Share]) -> dict[str, Any]:
        ranked = from_worst_served(shares)
        sees_all = self.actor.may(Action.SIT_MANAGE, land.id)
        places = {share.person_id: place for place, share in enumerate(ranked, start=1)}
        idle = [share for share in shares if share.person_id not in places]
        shown = [
            share
            for share in (*ranked, *idle)
            if sees_all or share.person_id == str(self.actor.person_id)
        ]
        return {
            "members_counted": len(ranked),
            "gini_of_sits": gini([share.sits_got for share in ranked]),
            "gini_of_fit": gini([share.quality_got for share in ranked]),
            "worst_served": ranked[0].person_id if ranked and sees_all else None,
            "members": [_row(share, places.get(share.person_id)) for share in shown],
        }


def _row(share: Share, place: int | None) -> dict[str, Any]:
    return {
        "person": share.person_id,
        "name": share.name,
        "entitlement_weight": share.weight,
        "asked": share.asked,
        "got": share.got,
        "average_fit": share.average_fit,
        "sits_with_fit": len(share.fits),
        "prime_sits": sum(share.prime.values()),
        "prime_by_class": {kind.value: share.prime.get(kind, 0) for kind in Prime},
        "place_from_worst_served": place,
    }

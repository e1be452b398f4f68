"""Changes over HTTP: begin without a cursor, then follow ``next``."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.asking import read_query
from coop.api.problems import InvalidInput
from coop.api.views import ActorViewSet
from scheduling.sits.serializers import SIT_ROWS, SitSerializer
from scheduling.sync import change_queries
from scheduling.sync.cursors import LONGEST, SyncCursor, read_cursor

MOST_ROWS = 1_000


class SinceSerializer(serializers.Serializer[Any]):
    since = serializers.CharField(
        required=False,
        max_length=LONGEST,
        help_text="The cursor of the answer before; left out to begin",
    )

    def validate_since(self, text: str) -> SyncCursor:
        try:
            return read_cursor(text)
        except ValueError:
            raise InvalidInput(
                "since is no cursor of these changes; follow the links as they are",
                errors=[{"pointer": "?since", "detail": "invalid cursor", "code": "invalid"}],
            ) from None


class SitsSinceSerializer(SinceSerializer):
    page_size = serializers.IntegerField(
        required=False, min_value=1, max_value=MOST_ROWS, default=200
    )


class SitChangesSerializer(serializers.Serializer[Any]):
    """Sits as they are now, in no order that means anything; the same may come again."""

    results = SitSerializer(many=True)
    gone = serializers.ListField(
        child=serializers.UUIDField(),
        help_text="Sits that you saw and see no more: drop them",
    )
    more = serializers.BooleanField(help_text="Ask again at once; otherwise when you like")
    cursor = serializers.CharField(help_text="How far your copy is; keep it with the copy")
    next = serializers.CharField(help_text="Where to ask next")


class ChangedOffersRowSerializer(serializers.Serializer[Any]):
    property = serializers.UUIDField(help_text="Read its offers again")
    changed_at = serializers.DateTimeField(help_text="When the last cause was written")


class OfferChangesSerializer(serializers.Serializer[Any]):
    """Properties whose offers may have changed; nothing to begin with, when all are new."""

    results = ChangedOffersRowSerializer(many=True)
    cursor = serializers.CharField(help_text="How far your copy is; keep it with the copy")
    next = serializers.CharField(help_text="Where to ask next")


class SitChangesViewSet(ActorViewSet):
    """What to do to a copy of the sits that you may see, to have it up to date."""

    tag = "sync"
    needs = {"list": Action.SIT_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = SitChangesSerializer

    @extend_schema(
        parameters=[SitsSinceSerializer],
        responses=SitChangesSerializer,
        examples=[
            OpenApiExample(
                "Nothing new",
                value={
                    "results": [],
                    "gone": [],
                    "more": False,
                    "cursor": "WyJzaXRzIl0",
                    "next": "https://coop.example.org/api/v1/sits/changes/?since=WyJzaXRzIl0",
                },
                response_only=True,
            )
        ],
    )
    def list(self, request: Request) -> Response:
        """All of your sits to begin with, page by page; then those changed since the cursor.

        A cursor lasts 30 days, and as long as you may see the same properties: then 410.
        """
        asked = read_query(self, SitsSinceSerializer)
        found = change_queries.changed_sits(
            actor=self.actor, since=asked.get("since"), at_most=asked["page_size"]
        )
        rows = change_queries.sits_told(actor=self.actor, ids=found.told)
        return Response(
            {
                "results": SIT_ROWS.told(SIT_ROWS.read(rows), actor=self.actor),
                "gone": list(found.gone),
                "more": found.more,
                "cursor": found.cursor.text(),
                "next": _next(request, found.cursor, page_size=asked["page_size"]),
            }
        )


class OfferChangesViewSet(ActorViewSet):
    """Which properties' offers to read again."""

    tag = "sync"
    needs = {"list": Action.FIT_READ}
    pagination_class = None
    filter_backends = []
    serializer_class = OfferChangesSerializer

    @extend_schema(parameters=[SinceSerializer], responses=OfferChangesSerializer)
    def list(self, request: Request) -> Response:
        """Properties whose offers may be others than at the cursor; time alone is no change.

        A cursor lasts 30 days, and as long as you may see the same properties: then 410.
        """
        self.require_somewhere()
        asked = read_query(self, SinceSerializer)
        found = change_queries.changed_offers(actor=self.actor, since=asked.get("since"))
        return Response(
            {
                "results": [
                    {"property": one, "changed_at": changed_at}
                    for one, changed_at in found.properties
                ],
                "cursor": found.cursor.text(),
                "next": _next(request, found.cursor),
            }
        )


def _next(request: Request | HttpRequest, cursor: SyncCursor, **more: Any) -> str:
    return request.build_absolute_uri(f"?{urlencode({'since': cursor.text(), **more})}")

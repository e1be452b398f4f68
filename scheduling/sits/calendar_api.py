"""Calendar feeds: made and replaced over the API, read at their own address by calendars."""

from typing import Any

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import refuse_unknown_parameters
from coop.api.views import ActorViewSet
from properties.land.queries import properties_visible_to
from scheduling.sits import calendar_services
from scheduling.sits.calendar_models import CalendarFeed


class FeedInputSerializer(serializers.Serializer[Any]):
    property = VisibleField(
        properties_visible_to,
        required=False,
        allow_null=True,
        help_text="A property's sits (managers, landowners); your own sits when left out",
    )


class FeedSerializer(serializers.ModelSerializer[CalendarFeed]):
    """A feed without its address, which was told once."""

    class Meta:
        model = CalendarFeed
        fields = ["id", "property", "version", "created_at", "updated_at"]
        read_only_fields = fields


class IssuedFeedSerializer(FeedSerializer):
    """A feed with its address: a secret, told once; whoever has it reads the feed."""

    url = serializers.CharField(read_only=True)

    class Meta(FeedSerializer.Meta):
        fields = [*FeedSerializer.Meta.fields, "url"]
        read_only_fields = fields


class CalendarFeedViewSet(ActorViewSet):
    """One's own iCalendar feeds; a calendar reads each at its private address."""

    tag = "sits"
    needs = {
        "list": Action.ROSTER_READ,
        "create": Action.ROSTER_READ,
        "destroy": Action.ROSTER_READ,
    }
    serializer_class = FeedSerializer
    filter_backends = []
    pagination_class = None

    def get_queryset(self) -> QuerySet[CalendarFeed]:
        return calendar_services.feeds_of(actor=self.actor).order_by("created_at", "id")

    @extend_schema(responses=FeedSerializer(many=True))
    def list(self, request: Request) -> Response:
        """Your feeds; an address that was lost is replaced by posting again."""
        refuse_unknown_parameters(request)
        return Response(FeedSerializer(self.get_queryset(), many=True).data)

    @extend_schema(
        request=FeedInputSerializer,
        responses={201: IssuedFeedSerializer},
        examples=[OpenApiExample("Your own sits", value={}, request_only=True)],
    )
    def create(self, request: Request) -> Response:
        """Make a feed, or replace its address; the address is told once and kept nowhere."""
        fields = self.read(FeedInputSerializer)
        feed, secret = calendar_services.replace_feed(
            actor=self.actor, land=fields.get("property"), now=self.now
        )
        url = request.build_absolute_uri(f"/calendars/{secret}.ics")
        return Response(
            {**FeedSerializer(feed).data, "url": url},
            status=201,
            headers={"Cache-Control": "no-store"},
        )

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """End a feed; its address answers no more."""
        feed = self.find(self.get_queryset(), pk)
        calendar_services.revoke_feed(actor=self.actor, feed=feed, now=self.now)
        return Response(status=204)


@require_safe
def calendar(_request: HttpRequest, secret: str) -> HttpResponse:
    """The feed behind a secret, without a session; a wrong or ended secret is not found."""
    text = calendar_services.feed_text(secret=secret, now=timezone.now())
    if text is None:
        raise Http404
    return HttpResponse(
        text,
        content_type="text/calendar; charset=utf-8",
        headers={"Cache-Control": "no-store", "Content-Disposition": 'inline; filename="sits.ics"'},
    )

"""Visits to scrapes over HTTP."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import TIME_ZONE, LocalInstantField, VisibleField, local_instant
from coop.api.filters import KnownParametersFilter
from coop.api.rendering import FastJSONRenderer, GeoJSONRenderer, TableRenderer
from coop.api.views import ActorViewSet, actor_of_view
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import properties_visible_to
from properties.land.years import FIRST_YEAR
from properties.regulations.queries import pictures_seen_until
from scrapes.cameras.health import CameraHealth
from scrapes.sites.models import Scrape
from scrapes.visits import queries
from scrapes.visits.figures import ScrapeVisits
from scrapes.visits.pictures import Individual
from scrapes.visits.visit_export import visits_csv, visits_geojson, visits_out

MOST_DAYS = 366
USUAL_DAYS = 30
EARLIEST = date(FIRST_YEAR, 1, 1)
SEEN_UNTIL = "seen_until"


class DatesSerializer(serializers.Serializer[Any]):
    """Local dates of the property, both included; the last 30 days when left out."""

    first_on = serializers.DateField(required=False)
    last_on = serializers.DateField(required=False)


class VisitsQuerySerializer(DatesSerializer):
    property = VisibleField(properties_visible_to)


class RateSerializer(serializers.Serializer[Any]):
    """Visits per 100 camera-nights with exact 95 % limits; null where nothing was watched."""

    visits = serializers.IntegerField()
    camera_nights = serializers.FloatField()
    per_100 = serializers.FloatField(allow_null=True)
    low_per_100 = serializers.FloatField(allow_null=True)
    high_per_100 = serializers.FloatField(allow_null=True)
    confidence = serializers.FloatField()

    def to_representation(self, rate: Any) -> dict[str, Any]:
        shown = super().to_representation(rate)
        if rate.camera_nights > 0:
            return shown
        return {**shown, "per_100": None, "low_per_100": None, "high_per_100": None}


class ClassCountsSerializer(serializers.Serializer[Any]):
    """Visits that showed each class; a doe with her fawn counts under both."""

    buck = serializers.IntegerField()
    doe = serializers.IntegerField()
    fawn = serializers.IntegerField()
    unknown = serializers.IntegerField()


class IndividualSerializer(serializers.Serializer[Individual]):
    name = serializers.CharField()
    visits = serializers.IntegerField()
    first_at = serializers.SerializerMethodField()
    last_at = serializers.SerializerMethodField()

    @extend_schema_field(LocalInstantField)
    def get_first_at(self, one: Individual) -> str:
        return _instant(one.first_s, self.context[TIME_ZONE])

    @extend_schema_field(LocalInstantField)
    def get_last_at(self, one: Individual) -> str:
        return _instant(one.last_s, self.context[TIME_ZONE])


class CameraStateSerializer(serializers.Serializer[CameraHealth]):
    camera = serializers.CharField()
    state = serializers.CharField()
    findings = serializers.SerializerMethodField()

    def get_findings(self, health: CameraHealth) -> list[str]:
        return [finding.sentence for finding in health.findings]


class ScrapeVisitsSerializer(serializers.Serializer[ScrapeVisits]):
    """`individuals` and `cameras` are null for whoever may not read observations.

    Nothing later than `seen_until` counts: for those who read no observations earlier than now,
    where the property's regulations ask for a delay before members see what cameras saw.
    """

    scrape = serializers.UUIDField(source="scrape_id")
    name = serializers.CharField()
    property = serializers.UUIDField(source="property_id")
    first_on = serializers.DateField()
    last_on = serializers.DateField()
    seen_until = serializers.SerializerMethodField()
    rate = RateSerializer()
    expected = serializers.FloatField(
        allow_null=True, help_text="Visits expected for season and effort"
    )
    expected_low = serializers.IntegerField(allow_null=True)
    expected_high = serializers.IntegerField(allow_null=True)
    base_rate_per_night = serializers.FloatField(
        help_text="Visits a camera-night at the season's height"
    )
    by_class = ClassCountsSerializer()
    by_species = serializers.DictField(
        child=serializers.IntegerField(),
        help_text="Visits by species of deer, as the property's settings name them; together they "
        "are the visits of the rate",
    )
    in_shooting_light = serializers.IntegerField(
        help_text="By this property's settings; no statement of law"
    )
    light_share = serializers.FloatField(allow_null=True)
    first_at = LocalInstantField(allow_null=True)
    last_at = LocalInstantField(allow_null=True)
    untagged_events = serializers.IntegerField(help_text="Unknown, not nought")
    unread_nights = serializers.FloatField(help_text="Camera-nights on cards not yet pulled")
    individuals = IndividualSerializer(many=True, allow_null=True)
    cameras = CameraStateSerializer(many=True, allow_null=True)

    @extend_schema_field(LocalInstantField)
    def get_seen_until(self, _row: ScrapeVisits) -> str:
        return local_instant(self.context[SEEN_UNTIL], self.context[TIME_ZONE]).isoformat()

    def to_representation(self, row: ScrapeVisits) -> dict[str, Any]:
        shown = super().to_representation(row)
        if not actor_of_view(self.context).may(Action.OBSERVATION_READ, row.property_id):
            shown |= {"individuals": None, "cameras": None}
        return shown


class NightSerializer(serializers.Serializer[Any]):
    on = serializers.DateField()
    visits = serializers.IntegerField()
    camera_nights = serializers.FloatField()
    expected = serializers.FloatField()


class ActivitySerializer(serializers.Serializer[Any]):
    """Circular density per hour of the local clock; it integrates to 1 over the day."""

    hours = serializers.ListField(child=serializers.FloatField())
    density_per_hour = serializers.ListField(child=serializers.FloatField())
    sample_size = serializers.IntegerField()


class NightlyVisitsSerializer(ScrapeVisitsSerializer):
    nights = NightSerializer(many=True)
    activity = ActivitySerializer(allow_null=True)


class VisitViewSet(ActorViewSet):
    """Visits: deer at a scrape as its cameras saw them, counted once however many pictures."""

    tag = "scrapes"
    needs = {
        "list": Action.VISIT_READ,
        "retrieve": Action.VISIT_READ,
        "export": Action.VISIT_READ,
    }
    serializer_class = ScrapeVisitsSerializer
    pagination_class = None
    filter_backends = [KnownParametersFilter]

    @property
    def extra_parameters(self) -> tuple[str, ...]:
        return ("property", "first_on", "last_on", *(("as",) if self.action == "export" else ()))

    def get_queryset(self) -> QuerySet[Scrape]:
        return queries.visited_scrapes_visible_to(actor=self.actor).select_related(
            "property__cooperative"
        )

    @extend_schema(parameters=[VisitsQuerySerializer], responses=ScrapeVisitsSerializer(many=True))
    def list(self, request: Request) -> Response:
        """Visits, effort, rate and expectation of every scrape of a property over local dates."""
        self.filter_queryset(self.get_queryset())
        asked = self._asked(VisitsQuerySerializer)
        land: Property = asked["property"]
        self.actor.require(self.needed, land.id)
        first_on, last_on = self._dates(asked, land)
        seen = pictures_seen_until(actor=self.actor, land=land, now=self.now)
        rows = queries.scrape_visits(land, first_on=first_on, last_on=last_on, now=seen)
        context = self._context(land, seen)
        return Response(self.get_serializer(rows, many=True, context=context).data)

    @extend_schema(parameters=[DatesSerializer], responses=NightlyVisitsSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One scrape (by its id) night by night, with its activity through the day."""
        scrape = self.find(self.get_queryset(), pk)
        first_on, last_on = self._dates(self._asked(DatesSerializer), scrape.property)
        seen = pictures_seen_until(actor=self.actor, land=scrape.property, now=self.now)
        rows = queries.scrape_visits(scrape.property, first_on=first_on, last_on=last_on, now=seen)
        found = {row.scrape_id: row for row in rows}.get(scrape.id)
        if found is None:
            raise serializers.ValidationError({"first_on": "The scrape was retired before."})
        context = self._context(scrape.property, seen)
        return Response(NightlyVisitsSerializer(found, context=context).data)

    @extend_schema(
        parameters=[
            VisitsQuerySerializer,
            OpenApiParameter("as", str, enum=["csv", "geojson"], description="csv by default"),
        ],
        responses={
            (200, "text/csv"): OpenApiTypes.STR,
            (200, "application/geo+json"): OpenApiTypes.OBJECT,
        },
    )
    @action(detail=False, renderer_classes=[FastJSONRenderer, TableRenderer, GeoJSONRenderer])
    def export(self, request: Request) -> HttpResponse:
        """Visit by visit as a table, or as points on a map; names and places as far as you see
        them."""
        self.filter_queryset(self.get_queryset())
        asked = self._asked(VisitsQuerySerializer)
        land: Property = asked["property"]
        first_on, last_on = self._dates(asked, land)
        wanted = request.query_params.get("as", "csv")
        if wanted not in ("csv", "geojson"):
            raise serializers.ValidationError({"as": "Must be csv or geojson."})
        visits = visits_out(
            actor=self.actor, land=land, first_on=first_on, last_on=last_on, now=self.now
        )
        return HttpResponse(
            visits_csv(visits) if wanted == "csv" else visits_geojson(visits),
            content_type="text/csv; charset=utf-8" if wanted == "csv" else "application/geo+json",
            headers={"Content-Disposition": f'attachment; filename="visits.{wanted}"'},
        )

    def _context(self, land: Property, seen: datetime) -> dict[str, Any]:
        return {**self.get_serializer_context(), SEEN_UNTIL: seen, TIME_ZONE: land.time_zone}

    def _asked(self, serializer_class: type[serializers.Serializer[Any]]) -> dict[str, Any]:
        serializer = serializer_class(
            data=self.request.query_params, context=self.get_serializer_context()
        )
        serializer.is_valid(raise_exception=True)
        return dict(serializer.validated_data)

    def _dates(self, asked: dict[str, Any], land: Property) -> tuple[date, date]:
        today = local_date_on(land, self.now)
        last_on = asked.get("last_on", today)
        if last_on > today:
            raise serializers.ValidationError({"last_on": "Lies in the future."})
        if last_on < EARLIEST:
            raise serializers.ValidationError({"last_on": f"Must not lie before {EARLIEST}."})
        first_on = asked.get("first_on", last_on - timedelta(days=USUAL_DAYS - 1))
        if first_on < EARLIEST:
            raise serializers.ValidationError({"first_on": f"Must not lie before {EARLIEST}."})
        if not 0 <= (last_on - first_on).days < MOST_DAYS:
            raise serializers.ValidationError(
                {"last_on": f"Must not lie before first_on; at most {MOST_DAYS} days are answered."}
            )
        return first_on, last_on


def _instant(seconds: int, time_zone: str) -> str:
    return local_instant(datetime.fromtimestamp(seconds, UTC), time_zone).isoformat()

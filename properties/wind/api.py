"""Wind in over HTTP: forecasts kept issue by issue, observations hour by hour."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.filters import FilterSet, InstantFilter
from coop.api.instants import as_of_record
from coop.api.parsing import StrictJSONParser
from coop.api.problems import InvalidInput
from coop.api.views import ActorViewSet
from properties.land.queries import properties_visible_to
from properties.wind import queries, services
from properties.wind.models import ForecastIssue, ObservedHour
from properties.wind.reading import UnreadableWeather, WeatherFile, WeatherFormat, read_weather
from properties.wind.weather_hours import (
    ImpossibleWeather,
    PlausibleWeather,
    Skipped,
    WeatherHour,
    WeatherImport,
    weather_hour,
)

MOST_HOURS = 2000
MOST_FAULTS = 100


class HourSerializer(serializers.Serializer[Any]):
    """One hour as told by a caller; leave out or null what is not known."""

    starts_at = serializers.DateTimeField()
    wind_from_deg = serializers.FloatField(allow_null=True, default=None)
    variable = serializers.BooleanField(default=False)
    speed_mps = serializers.FloatField(allow_null=True, default=None)
    gust_mps = serializers.FloatField(allow_null=True, default=None)
    cloud_fraction = serializers.FloatField(allow_null=True, default=None)
    temperature_c = serializers.FloatField(allow_null=True, default=None)
    precipitation_mm = serializers.FloatField(allow_null=True, default=None)
    precipitation_chance = serializers.FloatField(allow_null=True, default=None)


class WeatherInputSerializer(serializers.Serializer[Any]):
    """Either a file with its format (multipart) or hours (JSON)."""

    property = VisibleField(properties_visible_to)
    format = serializers.ChoiceField(
        choices=[(kind.value, kind.value) for kind in WeatherFormat], required=False
    )
    file = serializers.FileField(required=False, max_length=200)
    hours = HourSerializer(  # type: ignore[call-arg]
        many=True, required=False, allow_empty=False, max_length=MOST_HOURS
    )
    issued_at = serializers.DateTimeField(required=False, allow_null=True)
    source = serializers.CharField(max_length=40, required=False)  # type: ignore[assignment]

    def validate(self, fields: dict[str, Any]) -> dict[str, Any]:
        if ("file" in fields) == ("hours" in fields):
            raise serializers.ValidationError("Send either a file or hours.")
        if "file" in fields and "format" not in fields:
            raise serializers.ValidationError({"format": "Say how to read the file."})
        return fields


class SkippedSerializer(serializers.Serializer[Any]):
    place = serializers.CharField()
    code = serializers.CharField()
    reason = serializers.CharField()


class WeatherTakenSerializer(serializers.Serializer[Any]):
    """What came of it: everything read is taken or skipped with its reason."""

    id = serializers.UUIDField(required=False, help_text="The forecast issue")
    is_new = serializers.BooleanField(required=False)
    read = serializers.IntegerField()
    taken = serializers.IntegerField()
    held_already = serializers.IntegerField(required=False)
    skipped = SkippedSerializer(many=True)


class ForecastSerializer(serializers.ModelSerializer[ForecastIssue]):
    class Meta:
        model = ForecastIssue
        fields = [
            "id",
            "property",
            "source",
            "issued_at",
            "received_at",
            "first_hour_at",
            "last_hour_at",
        ]
        read_only_fields = fields


class ForecastDetailSerializer(serializers.ModelSerializer[ForecastIssue]):
    class Meta(ForecastSerializer.Meta):
        fields = [*ForecastSerializer.Meta.fields, "hours"]
        read_only_fields = fields

    def to_representation(self, issue: ForecastIssue) -> dict[str, Any]:
        told = super().to_representation(issue)
        if "hours" in told:
            starts = [as_of_record(starts_at) for starts_at in issue.hours["starts_at"]]
            told["hours"] = {**issue.hours, "starts_at": starts}
        return told


class ObservedHourSerializer(serializers.ModelSerializer[ObservedHour]):
    class Meta:
        model = ObservedHour
        fields = [
            "property",
            "source",
            "starts_at",
            "wind_from_deg",
            "variable",
            "speed_mps",
            "gust_mps",
            "cloud_fraction",
            "temperature_c",
            "precipitation_mm",
        ]
        read_only_fields = fields


class ForecastFilter(FilterSet):
    class Meta:
        model = ForecastIssue
        fields = ["property", "source"]


class ObservedHourFilter(FilterSet):
    since = InstantFilter(field_name="starts_at", lookup_expr="gte")
    until = InstantFilter(field_name="starts_at", lookup_expr="lt")

    class Meta:
        model = ObservedHour
        fields = ["property", "source"]


class ForecastViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Forecast issues: what was known when."""

    tag = "wind"
    needs = {
        "list": Action.WIND_READ,
        "retrieve": Action.WIND_READ,
        "create": Action.WIND_WRITE,
    }
    serializer_class = ForecastSerializer
    filterset_class = ForecastFilter
    page_order = ("-issued_at", "-id")
    parser_classes = [StrictJSONParser, MultiPartParser]

    def get_queryset(self) -> QuerySet[ForecastIssue]:
        return queries.issues_visible_to(actor=self.actor)

    @extend_schema(responses=ForecastDetailSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One issue with all its hours as columns."""
        return Response(ForecastDetailSerializer(self.find(self.get_queryset(), pk)).data)

    @extend_schema(
        request={
            "application/json": WeatherInputSerializer,
            "multipart/form-data": WeatherInputSerializer,
        },
        responses={201: WeatherTakenSerializer},
        examples=[
            OpenApiExample(
                "Two hours",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000001",
                    "source": "own station",
                    "hours": [
                        {
                            "starts_at": "2025-11-08T20:00:00Z",
                            "wind_from_deg": 315,
                            "speed_mps": 3.6,
                        },
                        {
                            "starts_at": "2025-11-08T21:00:00Z",
                            "wind_from_deg": 320,
                            "speed_mps": 3.1,
                        },
                    ],
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Keep a forecast: a gridpoint file, a CSV, or hours. The same content is one issue."""
        fields = self.read(WeatherInputSerializer)
        land = fields["property"]
        self.actor.require(self.needed, land.id)
        found = _usable(fields, self.now)
        stored = services.store_forecast(
            actor=self.actor, land=land, found=found, source=_source(fields), now=self.now
        )
        body = {"id": stored.issue.id, "is_new": stored.is_new, **_counts(found)}
        location = f"/api/v1/forecasts/{stored.issue.id}/"
        return Response(body, status=201, headers={"Location": location})


class ObservedHourViewSet(mixins.ListModelMixin, ActorViewSet):
    """Wind as it was observed: surface reports, a station's CSV, or hours told by hand."""

    tag = "wind"
    needs = {"list": Action.WIND_READ, "create": Action.WIND_WRITE}
    serializer_class = ObservedHourSerializer
    filterset_class = ObservedHourFilter
    page_order = ("-starts_at", "-id")
    parser_classes = [StrictJSONParser, MultiPartParser]

    def get_queryset(self) -> QuerySet[ObservedHour]:
        return queries.observed_hours_visible_to(actor=self.actor)

    @extend_schema(
        request={
            "application/json": WeatherInputSerializer,
            "multipart/form-data": WeatherInputSerializer,
        },
        responses={201: WeatherTakenSerializer},
    )
    def create(self, request: Request) -> Response:
        """Keep observed hours; what a source told already stays as it was.

        Where no hour can be used nothing is kept, and the answer, 400, names what is wrong.
        """
        fields = self.read(WeatherInputSerializer)
        land = fields["property"]
        self.actor.require(self.needed, land.id)
        found = _usable(fields, self.now)
        stored = services.store_observations(
            actor=self.actor, land=land, hours=found.hours, source=_source(fields), now=self.now
        )
        body = {**_counts(found), "taken": stored.new, "held_already": stored.held_already}
        return Response(body, status=201)


def _usable(fields: dict[str, Any], now: Any) -> WeatherImport:
    """What was read; raises :class:`InvalidInput` naming what is wrong where no hour is left."""
    found = _found(fields, now)
    if found.hours:
        return found
    raise InvalidInput(
        f"No hour can be used: {found.reconciliation}",
        errors=[_error_of(item) for item in found.skipped[:MOST_FAULTS]],
    )


def _error_of(item: Skipped) -> dict[str, str]:
    """What was left out, by the pointer of its hour, or by the file and its place there."""
    place = str(item.place)
    if place.startswith("#"):
        return {"pointer": place, "detail": item.reason, "code": item.code}
    return {"pointer": "#/file", "detail": f"{place}: {item.reason}", "code": item.code}


def _found(fields: dict[str, Any], now: Any) -> WeatherImport:
    bounds = queries.plausible_weather(fields["property"])
    if "hours" in fields:
        return _told(fields["hours"], fields.get("issued_at"), _source(fields), bounds)
    file = WeatherFile(
        content=fields["file"].read(),
        format=WeatherFormat(fields["format"]),
        reference=fields.get("issued_at") or now,
        bounds=bounds,
    )
    try:
        return read_weather(file)
    except UnreadableWeather as problem:
        raise InvalidInput(
            str(problem),
            errors=[{"pointer": "#/file", "detail": str(problem), "code": "unreadable"}],
        ) from problem


def _told(
    rows: list[dict[str, Any]], issued_at: Any, source: str, bounds: PlausibleWeather
) -> WeatherImport:
    hours: list[WeatherHour] = []
    skipped: list[Skipped] = []
    for number, row in enumerate(rows):
        values = {name: value for name, value in row.items() if name != "starts_at"}
        try:
            hours.append(
                weather_hour(instant=row["starts_at"], source=source, bounds=bounds, **values)
            )
        except ImpossibleWeather as fault:
            skipped.append(Skipped(place=f"#/hours/{number}", code=fault.code, reason=fault.detail))
    return WeatherImport(
        hours=tuple(hours), skipped=tuple(skipped), read=len(rows), issued_at=issued_at
    )


def _source(fields: dict[str, Any]) -> str:
    return str(fields.get("source") or fields.get("format") or "told")


def _counts(found: WeatherImport) -> dict[str, Any]:
    return {
        "read": found.read,
        "taken": len(found.hours),
        "skipped": [
            {"place": str(item.place), "code": item.code, "reason": item.reason}
            for item in found.skipped
        ],
    }

"""Wishes for sits over HTTP."""

from collections.abc import Mapping
from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import MOST_REFERENCES, TOO_MANY, VisibleField
from coop.api.preconditions import edit_matched
from coop.api.views import ActorViewSet
from coop.pointers import step
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to
from scheduling.sits import queries, request_services
from scheduling.sits.models import SitRequest, SitSpan


class PreferencesField(serializers.DictField):
    """Stand ids with a preference in percent."""

    child = serializers.IntegerField(min_value=1, max_value=100)

    def to_internal_value(self, data: Any) -> dict[str, int]:
        names = data if isinstance(data, Mapping) else ()
        faults = {step(name): "Must be a stand's id (UUID)." for name in names if not _is_id(name)}
        if faults:
            raise serializers.ValidationError(faults)
        wanted = super().to_internal_value(data)
        key = serializers.UUIDField()
        return {str(key.to_internal_value(name)): percent for name, percent in wanted.items()}


def _is_id(name: str) -> bool:
    try:
        serializers.UUIDField().to_internal_value(name)
    except serializers.ValidationError:
        return False
    return True


class GuestsField(serializers.ListField):
    """Ids of persons whom the caller may see, each once."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(child=VisibleField(persons_visible_to), **kwargs)

    def to_internal_value(self, data: Any) -> list[str]:
        if isinstance(data, list) and len(data) > MOST_REFERENCES:
            raise serializers.ValidationError(TOO_MANY)
        guests = [str(person.id) for person in super().to_internal_value(data)]
        if len(set(guests)) < len(guests):
            raise serializers.ValidationError("Each guest is named once.")
        return guests

    def to_representation(self, data: list[str]) -> list[str]:
        return data


class SitRequestSerializer(serializers.ModelSerializer[SitRequest]):
    property = VisibleField(properties_visible_to)
    person = VisibleField(persons_visible_to, required=False, help_text="You, when left out")
    person_name = serializers.CharField(source="person.name", read_only=True)
    wanted_sits = serializers.IntegerField(min_value=1, max_value=60)
    kinds = serializers.ListField(
        child=serializers.ChoiceField(choices=[(span.value, span.value) for span in SitSpan]),
        required=False,
        help_text="morning, evening; empty: either. all_day, alone: both on one stand, or none",
    )
    wanted_stands = PreferencesField(
        required=False, help_text="Stand id to preference in percent; empty: any stand"
    )
    guests = GuestsField(
        required=False,
        help_text="Who comes along to each of these sits, in the same stand: the person's own "
        "guests, and young hunters whom they supervise; empty: alone",
    )
    notice_days = serializers.IntegerField(
        min_value=0,
        max_value=60,
        required=False,
        help_text="Days of notice needed, as before a long drive; 0: none",
    )

    class Meta:
        model = SitRequest
        fields = [
            "id",
            "property",
            "person",
            "person_name",
            "first_on",
            "last_on",
            "wanted_sits",
            "kinds",
            "wanted_stands",
            "guests",
            "notice_days",
            "withdrawn_at",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "withdrawn_at", "version", "created_at", "updated_at"]


class SitRequestChangeSerializer(SitRequestSerializer):
    """A request stays with its person and property."""

    property = VisibleField(properties_visible_to, read_only=True)
    person = VisibleField(persons_visible_to, read_only=True)


class SitRequestFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    person = django_filters.UUIDFilter(field_name="person_id")
    on = django_filters.DateFilter(method="covering", help_text="asked for on this local date")
    withdrawn = django_filters.BooleanFilter(
        field_name="withdrawn_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = SitRequest
        fields: list[str] = []

    def covering(self, rows: QuerySet[SitRequest], _name: str, value: Any) -> QuerySet[SitRequest]:
        return rows.filter(first_on__lte=value, last_on__gte=value)


class SitRequestViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Wishes that the rotation serves: how many sits, in which days, in which stands."""

    tag = "sits"
    needs = {
        "list": Action.REQUEST_READ,
        "retrieve": Action.REQUEST_READ,
        "create": Action.REQUEST_WRITE,
        "partial_update": Action.REQUEST_WRITE,
        "withdraw": Action.REQUEST_WRITE,
    }
    serializer_class = SitRequestSerializer
    filterset_class = SitRequestFilter
    page_order = ("first_on", "id")

    def get_queryset(self) -> QuerySet[SitRequest]:
        return queries.requests_visible_to(actor=self.actor).select_related("person", "property")

    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))

    @extend_schema(
        examples=[
            OpenApiExample(
                "Three evenings in ten days",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "first_on": "2025-11-07",
                    "last_on": "2025-11-16",
                    "wanted_sits": 3,
                    "kinds": ["evening"],
                    "wanted_stands": {"0193a1c2-0000-7000-8000-000000000004": 100},
                },
                request_only=True,
            ),
            OpenApiExample(
                "A morning with a guest, and a week's notice",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "first_on": "2025-11-07",
                    "last_on": "2025-11-23",
                    "wanted_sits": 1,
                    "kinds": ["morning"],
                    "guests": ["0193a1c2-0000-7000-8000-000000000008"],
                    "notice_days": 7,
                },
                request_only=True,
            ),
        ]
    )
    def create(self, request: Request) -> Response:
        """Ask for sits; a manager may ask for somebody else.

        Each sit of a wish with guests is for all of them together, in one stand. Sits with and
        without guests are two wishes.
        """
        fields = self.read(SitRequestSerializer)
        wish = request_services.create_request(
            actor=self.actor,
            land=fields.pop("property"),
            person=fields.pop("person", None),
            fields=fields,
            now=self.now,
        )
        return self.answer(wish, status=201, location=f"/api/v1/sit-requests/{wish.id}/")

    @extend_schema(request=SitRequestChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a wish (`If-Match` needed)."""
        wish = self.find(self.get_queryset(), pk)
        changes = self.read(SitRequestChangeSerializer, partial=True)
        return self.answer(
            edit_matched(
                request=request,
                row=wish,
                edit=lambda locked: request_services.change_request(
                    actor=self.actor, request=locked, changes=changes, now=self.now
                ),
            )
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """Take a wish back; sits already given by it stay until cancelled."""
        wish = self.find(self.get_queryset(), pk)
        return self.answer(
            request_services.withdraw_request(actor=self.actor, request=wish, now=self.now)
        )

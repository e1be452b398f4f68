"""The waiting list over HTTP: one's own place, and for managers everybody's."""

from functools import cached_property
from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField
from coop.api.filters import FilterSet
from coop.api.preconditions import etag_of
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to, units_of
from properties.sessions.kinds import SPAN_WORDS
from properties.stands.queries import stands_visible_to
from scheduling.sits import waiting_queries, waiting_services
from scheduling.sits.asking import SessionDateField
from scheduling.sits.models import SitSpan
from scheduling.sits.serializers import WEAPONS, SitSerializer
from scheduling.sits.waiting_cautions import cautions_of
from scheduling.sits.waiting_models import OPEN_STATES, WaitingEntry, WaitingState


class PlaceSerializer(serializers.Serializer[Any]):
    """1 is next; among all who wait for the same seats."""

    number = serializers.IntegerField()
    of = serializers.IntegerField()


class WaitingEntrySerializer(serializers.ModelSerializer[WaitingEntry]):
    """A place on the waiting list, and what became of it."""

    stand_name = serializers.CharField(
        source="stand.name", default=None, read_only=True, allow_null=True
    )
    person_name = serializers.CharField(source="person.name", read_only=True)
    offered_stand_name = serializers.CharField(
        source="offered_stand.name", default=None, read_only=True, allow_null=True
    )
    starts_at = LocalInstantField(place="property", read_only=True)
    answer_by = LocalInstantField(place="property", read_only=True, allow_null=True)
    place = serializers.SerializerMethodField()

    class Meta:
        model = WaitingEntry
        fields = [
            "id",
            "property",
            "stand",
            "stand_name",
            "person",
            "person_name",
            "local_date",
            "span",
            "starts_at",
            "weapon",
            "state",
            "place",
            "asked_at",
            "offered_stand",
            "offered_stand_name",
            "answer_by",
            "sit",
            "ended_at",
            "outcome",
            "version",
        ]
        read_only_fields = fields

    @extend_schema_field(PlaceSerializer(allow_null=True))
    def get_place(self, entry: WaitingEntry) -> dict[str, int] | None:
        """The place of an open entry; those of a page are looked up together."""
        known = self.context["places_of_days"]
        key = (entry.property_id, entry.local_date)
        if key not in known:
            known |= waiting_queries.places_on_days([entry])
        place = known[key].get(entry.id)
        return place and {"number": place.number, "of": place.of}


class WaitingCautionSerializer(serializers.Serializer[Any]):
    """A rule that would refuse a stand although everybody else gave way."""

    stand = serializers.UUIDField(source="stand.id")
    stand_name = serializers.CharField(source="stand.name")
    code = serializers.CharField(source="refusal.code")
    sentence = serializers.CharField(source="refusal.sentence")


class WaitingEntryDetailSerializer(WaitingEntrySerializer):
    """One entry, with what would refuse it as things stand."""

    cautions = serializers.SerializerMethodField(
        help_text="Empty: a seat that is given up could be theirs, or the waiting has ended"
    )

    class Meta(WaitingEntrySerializer.Meta):
        fields = [*WaitingEntrySerializer.Meta.fields, "cautions"]
        read_only_fields = fields

    @extend_schema_field(WaitingCautionSerializer(many=True))
    def get_cautions(self, entry: WaitingEntry) -> Any:
        if entry.state not in OPEN_STATES:
            return []
        view = self.context["view"]
        found = cautions_of(entry, units=units_of(view.actor), now=view.now)
        return WaitingCautionSerializer(found, many=True).data


class WaitSerializer(serializers.Serializer[Any]):
    property = VisibleField(properties_visible_to)
    stand = VisibleField(
        stands_visible_to, required=False, allow_null=True, help_text="Any stand, when left out"
    )
    local_date = SessionDateField(help_text="The property's local date")
    span = serializers.ChoiceField(choices=SitSpan.choices, help_text=SPAN_WORDS)
    person = VisibleField(
        persons_visible_to, required=False, help_text="You, when left out; others (managers)"
    )
    weapon = serializers.ChoiceField(choices=WEAPONS, required=False, allow_blank=True)


class WaitingFilter(FilterSet):
    property = django_filters.UUIDFilter(field_name="property_id")
    stand = django_filters.UUIDFilter(field_name="stand_id")
    person = django_filters.UUIDFilter(field_name="person_id")
    state = django_filters.MultipleChoiceFilter(choices=WaitingState.choices)
    first_on = django_filters.DateFilter(field_name="local_date", lookup_expr="gte")
    last_on = django_filters.DateFilter(field_name="local_date", lookup_expr="lte")

    class Meta:
        model = WaitingEntry
        fields: list[str] = []


class WaitingListViewSet(mixins.ListModelMixin, DetailViewSet):
    """Who waits for a seat: one's own place; everybody's is the manager's to see.

    A freed seat goes to whoever has fewest sits this season there, then to whoever asked
    first, and only where every house rule lets it.
    """

    tag = "sits"
    needs = {
        "list": Action.REQUEST_READ,
        "retrieve": Action.REQUEST_READ,
        "create": Action.REQUEST_WRITE,
        "leave": Action.REQUEST_WRITE,
        "confirm": Action.SIT_BOOK,
    }
    serializer_class = WaitingEntrySerializer
    filterset_class = WaitingFilter
    page_order = ("local_date", "asked_at", "id")

    def get_queryset(self) -> QuerySet[WaitingEntry]:
        return waiting_queries.waiting_visible_to(actor=self.actor).select_related(
            "stand", "person", "offered_stand", "property__cooperative"
        )

    def get_serializer_class(self) -> type[WaitingEntrySerializer]:
        is_whole = self.action in ("retrieve", "create")
        return WaitingEntryDetailSerializer if is_whole else WaitingEntrySerializer

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "places_of_days": self.places_of_days}

    @cached_property
    def places_of_days(self) -> dict[Any, Any]:
        return {}

    def paginate_queryset(self, queryset: Any) -> Any:
        page = super().paginate_queryset(queryset)
        self.places_of_days |= waiting_queries.places_on_days(page or [])
        return page

    @extend_schema(responses=WaitingEntryDetailSerializer)
    def retrieve(self, request: Request, pk: str) -> Response:
        """One place on the list, with what would refuse it as things stand."""
        return super().retrieve(request, pk)

    @extend_schema(
        request=WaitSerializer,
        responses={201: WaitingEntryDetailSerializer},
        examples=[
            OpenApiExample(
                "Any stand on a Saturday evening",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "local_date": "2025-11-08",
                    "span": "evening",
                    "weapon": "bow",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Wait for a seat. Refused while a seat is open to you (book that one), and where a rule
        objects that nobody's giving way takes away.

        `cautions` names rules that would refuse you although everybody else gave way, the wind
        or a closed stand say; they may change. Well before the session a freed seat is booked for
        you at once; shortly before it one is held until you confirm. You are told.
        """
        fields = self.read(WaitSerializer)
        entry = waiting_services.wait_for_seat(
            actor=self.actor,
            land=fields.pop("property"),
            stand=fields.pop("stand", None),
            now=self.now,
            **fields,
        )
        return self.answer(entry, status=201, location=f"/api/v1/waiting-list/{entry.id}/")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def leave(self, request: Request, pk: str) -> Response:
        """Wait no longer; a seat that was held for you goes to the next in line."""
        entry = self.find(self.get_queryset(), pk)
        return self.answer(waiting_services.leave_list(actor=self.actor, entry=entry, now=self.now))

    @extend_schema(request=None, responses={201: SitSerializer})
    @action(detail=True, methods=["post"])
    def confirm(self, request: Request, pk: str) -> Response:
        """Book the seat that is held for you; a refusal lists every house rule that objects."""
        entry = self.find(self.get_queryset(), pk)
        sit = waiting_services.confirm_seat(actor=self.actor, entry=entry, now=self.now)
        shown = SitSerializer(sit, context=self.get_serializer_context())
        headers = {"ETag": etag_of(sit), "Location": f"/api/v1/sits/{sit.id}/"}
        return Response(shown.data, status=201, headers=headers)

"""Errands over HTTP."""

from collections.abc import Collection
from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import ZONE_COLUMN, LocalInstantField, VisibleField, with_zones
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.people.queries import persons_visible_to
from properties.stands.queries import stands_visible_to
from scheduling.errands import life_services, queries
from scheduling.errands.models import THING_OF_KIND, THINGS, Errand, ErrandKind, ErrandState
from scheduling.errands.opening_services import open_errand
from scrapes.cameras.queries import cameras_visible_to
from scrapes.care.reviews_api import scent_by_the_clock
from scrapes.sites.queries import scrapes_visible_to


class ErrandSerializer(serializers.ModelSerializer[Errand]):
    assignee_name = serializers.CharField(source="assignee.name", default=None, allow_null=True)
    go_from = LocalInstantField(place="property", read_only=True, allow_null=True)
    go_until = LocalInstantField(place="property", read_only=True, allow_null=True)
    done_at = LocalInstantField(place="property", read_only=True, allow_null=True)

    class Meta:
        model = Errand
        fields = [
            "id",
            "property",
            "kind",
            "scrape",
            "camera",
            "stand",
            "incident",
            "state",
            "recurs",
            "reason",
            "facts",
            "due_on",
            "advice",
            "go_from",
            "go_until",
            "assignee",
            "assignee_name",
            "reminders_sent",
            "done_at",
            "done_by",
            "done_note",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = fields

    def to_representation(self, errand: Errand) -> dict[str, Any]:
        told = super().to_representation(errand)
        if "facts" in told:
            zone = getattr(errand, ZONE_COLUMN, None) or errand.property.time_zone
            told["facts"] = scent_by_the_clock(errand.facts, zone)
        return told


class NewErrandSerializer(serializers.Serializer[Any]):
    """Name exactly one of scrape, camera and stand, that which the kind is about."""

    kind = serializers.ChoiceField(choices=ErrandKind.choices)
    scrape = VisibleField(scrapes_visible_to, required=False)
    camera = VisibleField(cameras_visible_to, required=False)
    stand = VisibleField(stands_visible_to, required=False)
    reason = serializers.CharField(max_length=500)

    def validate(self, fields: dict[str, Any]) -> dict[str, Any]:
        things = {name: fields.pop(name) for name in THINGS if name in fields}
        faults = _faults_of_things(fields["kind"], things)
        if faults:
            raise serializers.ValidationError(faults)
        (thing,) = things.values()
        return {**fields, "thing": thing}


def _faults_of_things(kind: str, named: Collection[str]) -> dict[str, str]:
    """What is wrong with the things that were named, by member: most kinds are about one sort."""
    about = THING_OF_KIND.get(kind)
    if about is None and len(named) == 1:
        return {}
    if about is None:
        at = named or ["non_field_errors"]
        return dict.fromkeys(at, "Name exactly one of scrape, camera and stand.")
    needed = {} if about in named else {about: f"Name the {about}: {kind} is about one."}
    odd = [name for name in named if name != about]
    return needed | dict.fromkeys(odd, f"{kind} is about a {about}.")


class AssignSerializer(serializers.Serializer[Any]):
    assignee = VisibleField(persons_visible_to)


class NoteSerializer(serializers.Serializer[Any]):
    note = serializers.CharField(max_length=500, allow_blank=True, default="")


class FinishSerializer(NoteSerializer):
    scent = serializers.CharField(
        max_length=60,
        allow_blank=True,
        default="",
        help_text="What was put on the scrape: required for a refresh of scent, for nothing else. "
        "Only what the property permits is recorded",
    )
    passed = serializers.BooleanField(
        allow_null=True,
        default=None,
        help_text="Whether the stand passed: required for an inspection, for nothing else. It is "
        "recorded on the stand, by whoever may record inspections; a failed one closes the stand",
    )


class ErrandFilter(FilterSet):
    kind = django_filters.MultipleChoiceFilter(choices=ErrandKind.choices)
    state = django_filters.MultipleChoiceFilter(choices=ErrandState.choices)
    due_until = django_filters.DateFilter(field_name="due_on", lookup_expr="lte")

    class Meta:
        model = Errand
        fields = ["property", "kind", "state", "assignee", "scrape", "camera", "stand"]


class ErrandViewSet(mixins.ListModelMixin, DetailViewSet):
    """Work to be done on the land: why, by when, by whom, and the hour of least harm."""

    tag = "errands"
    needs = {
        "list": Action.ERRAND_READ,
        "retrieve": Action.ERRAND_READ,
        "create": Action.ERRAND_WRITE,
        "assign": Action.ERRAND_WRITE,
        "finish": Action.ERRAND_DO,
        "cancel": Action.ERRAND_WRITE,
    }
    serializer_class = ErrandSerializer
    filterset_class = ErrandFilter
    page_order = ("due_on", "id")

    def get_queryset(self) -> QuerySet[Errand]:
        found = queries.errands_visible_to(actor=self.actor)
        return with_zones(found.select_related("assignee"))

    @extend_schema(
        request=NewErrandSerializer,
        responses={201: ErrandSerializer},
        examples=[
            OpenApiExample(
                "Trim a lane",
                value={
                    "kind": "trim",
                    "stand": "0193a1c2-0000-7000-8000-000000000001",
                    "reason": "A limb hangs into the lane towards the plot.",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Open an errand; while one stands open for the same thing, that one is answered."""
        fields = self.read(NewErrandSerializer)
        errand = open_errand(actor=self.actor, now=self.now, **fields)
        return self.answer(errand, status=201, location=f"/api/v1/errands/{errand.id}/")

    @extend_schema(request=AssignSerializer, responses=ErrandSerializer)
    @action(detail=True, methods=["post"])
    def assign(self, request: Request, pk: str) -> Response:
        """Give the errand to a member or manager of the property."""
        errand = self.find(self.get_queryset(), pk)
        fields = self.read(AssignSerializer)
        return self.answer(
            life_services.assign_errand(actor=self.actor, errand=errand, now=self.now, **fields)
        )

    @extend_schema(request=FinishSerializer, responses=ErrandSerializer)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        """It was done; say what was done, for a refresh with which scent, for an inspection whether
        the stand passed. Reminders stop."""
        errand = self.find(self.get_queryset(), pk)
        fields = self.read(FinishSerializer)
        return self.answer(
            life_services.finish_errand(actor=self.actor, errand=errand, now=self.now, **fields)
        )

    @extend_schema(request=NoteSerializer, responses=ErrandSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """It need not be done; say why."""
        errand = self.find(self.get_queryset(), pk)
        note = self.read(NoteSerializer)["note"]
        return self.answer(
            life_services.cancel_errand(actor=self.actor, errand=errand, reason=note, now=self.now)
        )

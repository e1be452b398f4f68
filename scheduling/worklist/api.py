"""Items of the manager's list over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import LocalInstantField, VisibleField, with_zones
from coop.api.filters import FilterSet
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from properties.leases.queries import leases_visible_to
from properties.sessions.queries import seasons_visible_to
from properties.stands.queries import stands_visible_to
from scheduling.errands.queries import errands_visible_to
from scheduling.worklist import item_services, queries
from scheduling.worklist.models import TASKS, AboutKind, WorkItem, WorkState
from scheduling.worklist.weeks import monday_of, week_name
from scrapes.cameras.queries import cameras_visible_to
from scrapes.sites.queries import scrapes_visible_to

_COLLECTIONS = {
    AboutKind.PROPERTY: "properties",
    AboutKind.STAND: "stands",
    AboutKind.SCRAPE: "scrapes",
    AboutKind.CAMERA: "cameras",
    AboutKind.LEASE: "leases",
    AboutKind.ERRAND: "errands",
    AboutKind.SEASON: "seasons",
}


class AboutSerializer(serializers.Serializer[Any]):
    """The thing that a piece of work is about."""

    kind = serializers.ChoiceField(choices=AboutKind.choices)
    id = serializers.UUIDField()
    link = serializers.CharField(help_text="Its address in this API")


class WorkItemSerializer(serializers.ModelSerializer[WorkItem]):
    week = serializers.SerializerMethodField(help_text="ISO 8601, as 2025-W45")
    about = serializers.SerializerMethodField()
    follows_a_fact = serializers.SerializerMethodField(
        help_text="Derived from an errand, an inspection, a camera or a lease, not from the year"
    )
    done_at = LocalInstantField(place="property", read_only=True, allow_null=True)
    done_by_name = serializers.CharField(source="done_by.name", default=None, allow_null=True)

    class Meta:
        model = WorkItem
        fields = [
            "id",
            "property",
            "template",
            "task",
            "title",
            "week",
            "due_on",
            "about",
            "follows_a_fact",
            "state",
            "moved_at",
            "done_at",
            "done_by",
            "done_by_name",
            "note",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = fields

    def get_week(self, item: WorkItem) -> str:
        return week_name(item.week_on)

    def get_about(self, item: WorkItem) -> AboutSerializer:
        link = f"/api/v1/{_COLLECTIONS[AboutKind(item.about_kind)]}/{item.about_id}/"
        told = {"kind": item.about_kind, "id": item.about_id, "link": link}
        return AboutSerializer(told).data  # type: ignore[return-value]  # named for the schema

    def get_follows_a_fact(self, item: WorkItem) -> bool:
        return bool(item.origin_key) and item.template_id is None


class NewWorkItemSerializer(serializers.Serializer[Any]):
    """Name at most one of stand, scrape, camera, lease, errand and season; the property if none."""

    property = VisibleField(properties_visible_to)
    task = serializers.ChoiceField(choices=TASKS, default="other")
    title = serializers.CharField(max_length=200)
    due_on = serializers.DateField(help_text="A local date; it stands in this day's week")
    stand = VisibleField(stands_visible_to, required=False)
    scrape = VisibleField(scrapes_visible_to, required=False)
    camera = VisibleField(cameras_visible_to, required=False)
    lease = VisibleField(leases_visible_to, required=False)
    errand = VisibleField(errands_visible_to, required=False)
    season = VisibleField(seasons_visible_to, required=False)

    def validate(self, fields: dict[str, Any]) -> dict[str, Any]:
        named = [kind.value for kind in AboutKind if kind.value in fields and kind != "property"]
        things = [(kind, fields.pop(kind)) for kind in named]
        if len(things) > 1:
            raise serializers.ValidationError({named[1]: "Name at most one thing."})
        kind, thing = things[0] if things else ("property", fields["property"])
        if kind != "property" and thing.property_id != fields["property"].id:
            raise serializers.ValidationError({kind: "It is not on this property."})
        return {**fields, "about_kind": kind, "about_id": thing.id}


class WorkMoveSerializer(serializers.Serializer[Any]):
    due_on = serializers.DateField(help_text="A local date of the week it goes to")


class WorkNoteSerializer(serializers.Serializer[Any]):
    note = serializers.CharField(max_length=500, allow_blank=True, default="")


class WeekFilter(django_filters.CharFilter):
    """A week as ``2025-W45``, compared by its Monday."""

    def filter(self, rows: QuerySet[WorkItem], value: str) -> QuerySet[WorkItem]:
        if not value:
            return rows
        try:
            monday = monday_of(value)
        except ValueError as problem:
            raise serializers.ValidationError({self.label: str(problem)}) from problem
        return rows.filter(**{f"week_on__{self.lookup_expr}": monday})


class WorkItemFilter(FilterSet):
    week = WeekFilter(label="week", help_text="As 2025-W45")
    week_from = WeekFilter(lookup_expr="gte", label="week_from", help_text="As 2025-W45")
    week_until = WeekFilter(lookup_expr="lte", label="week_until", help_text="As 2025-W45")
    state = django_filters.MultipleChoiceFilter(choices=WorkState.choices)
    task = django_filters.MultipleChoiceFilter(choices=TASKS)

    class Meta:
        model = WorkItem
        fields = ["property"]


class WorkItemViewSet(mixins.ListModelMixin, DetailViewSet):
    """What is to be done in which week: from the year's templates, from facts, and by hand."""

    tag = "worklist"
    needs = {
        "list": Action.WORKLIST_READ,
        "retrieve": Action.WORKLIST_READ,
        "create": Action.WORKLIST_WRITE,
        "move": Action.WORKLIST_WRITE,
        "finish": Action.WORKLIST_WRITE,
        "skip": Action.WORKLIST_WRITE,
        "reopen": Action.WORKLIST_WRITE,
    }
    serializer_class = WorkItemSerializer
    filterset_class = WorkItemFilter
    page_order = ("due_on", "id")

    def get_queryset(self) -> QuerySet[WorkItem]:
        return with_zones(queries.items_visible_to(actor=self.actor).select_related("done_by"))

    @extend_schema(
        request=NewWorkItemSerializer,
        responses={201: WorkItemSerializer},
        examples=[
            OpenApiExample(
                "A bridge",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "title": "Mend the plank bridge before the cattle come",
                    "due_on": "2025-11-14",
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """Add a piece of work by hand."""
        fields = self.read(NewWorkItemSerializer)
        item = item_services.add_item(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(item, status=201, location=f"/api/v1/work-items/{item.id}/")

    @extend_schema(request=WorkMoveSerializer)
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: str) -> Response:
        """Put it into the week of another day; no change of a date moves it any more."""
        item = self._managed(pk)
        fields = self.read(WorkMoveSerializer)
        return self.answer(
            item_services.move_item(actor=self.actor, item=item, now=self.now, **fields)
        )

    @extend_schema(request=WorkNoteSerializer)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, pk: str) -> Response:
        """It was done. What an errand, an inspection or a camera asks for is done there (409)."""
        return self._with_note(pk, item_services.finish_item)

    @extend_schema(request=WorkNoteSerializer)
    @action(detail=True, methods=["post"])
    def skip(self, request: Request, pk: str) -> Response:
        """It is not done this time; say why."""
        return self._with_note(pk, item_services.skip_item)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def reopen(self, request: Request, pk: str) -> Response:
        """What was skipped or finished by mistake is open again."""
        item = self._managed(pk)
        return self.answer(item_services.reopen_item(actor=self.actor, item=item, now=self.now))

    def _managed(self, pk: str) -> WorkItem:
        item = self.find(self.get_queryset(), pk)
        self.actor.require(self.needed, item.property_id)
        return item

    def _with_note(self, pk: str, act: Any) -> Response:
        item = self._managed(pk)
        fields = self.read(WorkNoteSerializer)
        return self.answer(act(actor=self.actor, item=item, now=self.now, **fields))

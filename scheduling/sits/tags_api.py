"""Tags and permits over HTTP: their holder's and the manager's business."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.land.queries import properties_visible_to
from properties.people.queries import persons_visible_to
from scheduling.sits import queries, tag_services
from scheduling.sits.harvest_models import Tag
from scheduling.sits.models import HarvestClass


class TagSerializer(serializers.ModelSerializer[Tag]):
    """One tag or permit for one deer, as told here; what the state has on record decides."""

    person = VisibleField(persons_visible_to, required=False, help_text="You, when left out")
    property = VisibleField(
        properties_visible_to,
        required=False,
        allow_null=True,
        help_text="Where alone it is good, if anywhere",
    )
    used_on = serializers.SerializerMethodField()

    class Meta:
        model = Tag
        fields = [
            "id",
            "person",
            "property",
            "kind",
            "number",
            "harvest_class",
            "sex",
            "valid_from",
            "valid_until",
            "used_on",
            "retired_at",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "retired_at", "version", "created_at", "updated_at"]
        extra_kwargs = {
            "harvest_class": {"help_text": "Empty: any"},
            "sex": {"help_text": "Empty: any"},
        }
        validators: list[Any] = []

    def get_used_on(self, tag: Tag) -> str | None:
        """The harvest that names it."""
        harvest = getattr(tag, "harvest", None)
        return None if harvest is None else str(harvest.id)


class TagChangeSerializer(TagSerializer):
    """A tag stays with its holder."""

    person = VisibleField(persons_visible_to, read_only=True)


class TagFilter(django_filters.FilterSet):
    person = django_filters.UUIDFilter(field_name="person_id")
    property = django_filters.UUIDFilter(field_name="property_id")
    harvest_class = django_filters.ChoiceFilter(choices=HarvestClass.choices)
    valid_on = django_filters.DateFilter(method="valid_on_day", help_text="Valid on this date")
    used = django_filters.BooleanFilter(
        field_name="harvest", lookup_expr="isnull", exclude=True, help_text="Used on a deer"
    )

    class Meta:
        model = Tag
        fields: list[str] = []

    def valid_on_day(self, tags: QuerySet[Tag], _name: str, day: Any) -> QuerySet[Tag]:
        return tags.filter(valid_from__lte=day, valid_until__gte=day)


class TagViewSet(mixins.ListModelMixin, DetailViewSet):
    """Tags and permits: one's own and one's guests'; for managers those of their people.

    Nobody else reads a number. Whether a tag is good for a deer is the state's to say.
    """

    tag = "harvest"
    needs = {
        "list": Action.TAG_READ,
        "retrieve": Action.TAG_READ,
        "create": Action.TAG_WRITE,
        "partial_update": Action.TAG_WRITE,
        "retire": Action.TAG_WRITE,
    }
    serializer_class = TagSerializer
    filterset_class = TagFilter

    def get_queryset(self) -> QuerySet[Tag]:
        return queries.tags_visible_to(actor=self.actor).select_related(
            "person", "property", "harvest"
        )

    @extend_schema(
        examples=[
            OpenApiExample(
                "An antlerless permit",
                value={
                    "kind": "permit",
                    "number": "A-0042",
                    "harvest_class": "antlerless",
                    "valid_from": "2025-10-01",
                    "valid_until": "2026-01-31",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Keep a tag of your own or your guest's; as a manager, anybody's."""
        fields = self.read(TagSerializer)
        person = fields.pop("person", None) or queries.own_person(self.actor)
        tag = tag_services.create_tag(actor=self.actor, person=person, fields=fields, now=self.now)
        return self.answer(
            self.find(self.get_queryset(), tag.id), status=201, location=f"/api/v1/tags/{tag.id}/"
        )

    @extend_schema(request=TagChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Correct a tag (`If-Match` needed); of one that was used, the number alone."""
        tag = self.find(self.get_queryset(), pk)
        changes = self.read(TagChangeSerializer, partial=True)
        return self.answer_edit(
            tag,
            lambda locked: tag_services.change_tag(
                actor=self.actor, tag=locked, changes=changes, now=self.now
            ),
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, pk: str) -> Response:
        """Take an unused tag out: a mistake, lost, given back."""
        tag = self.find(self.get_queryset(), pk)
        return self.answer(tag_services.retire_tag(actor=self.actor, tag=tag, now=self.now))

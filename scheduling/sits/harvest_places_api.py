"""Places of the harvest plans that are kept for sits, over HTTP."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.views import DetailViewSet
from scheduling.sits import harvest_place_services, queries
from scheduling.sits.harvest_models import HarvestPlace


class HarvestPlaceSerializer(serializers.ModelSerializer[HarvestPlace]):
    """What one sit asks of one plan. Without a place the sit stands, and the class is not its."""

    property = serializers.UUIDField(source="plan.property_id", read_only=True)
    harvest_class = serializers.CharField(source="plan.harvest_class", read_only=True)
    sex = serializers.CharField(source="plan.sex", read_only=True)

    class Meta:
        model = HarvestPlace
        fields = ["id", "property", "plan", "harvest_class", "sex", "sit", "wanted", "held"]
        read_only_fields = fields
        extra_kwargs: dict[str, Any] = {
            "held": {"help_text": "A place of the plan is kept for the sit"},
            "wanted": {"help_text": "false: given up by the hunter"},
        }


class HarvestPlaceFilter(django_filters.FilterSet):
    property = django_filters.UUIDFilter(field_name="plan__property_id")
    sit = django_filters.UUIDFilter(field_name="sit_id")
    held = django_filters.BooleanFilter()

    class Meta:
        model = HarvestPlace
        fields: list[str] = []


class HarvestPlaceViewSet(mixins.ListModelMixin, DetailViewSet):
    """Places kept for one's own sits, one's guests' and clients'; for managers everybody's.

    A place is no permission to shoot: season, tags and law decide besides.
    """

    tag = "harvest"
    needs = {
        "list": Action.SIT_READ,
        "retrieve": Action.SIT_READ,
        "give_up": Action.SIT_BOOK,
        "ask_again": Action.SIT_BOOK,
    }
    serializer_class = HarvestPlaceSerializer
    filterset_class = HarvestPlaceFilter
    page_order = ("sit__starts_at", "id")

    def get_queryset(self) -> QuerySet[HarvestPlace]:
        return queries.places_visible_to(actor=self.actor).select_related("plan", "sit")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="give-up")
    def give_up(self, request: Request, pk: str) -> Response:
        """Give a place up, so that somebody who sits at the same time can have it."""
        return self._wanted(pk, wanted=False)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="ask-again")
    def ask_again(self, request: Request, pk: str) -> Response:
        """Ask again for a place that was given up; it may be gone."""
        return self._wanted(pk, wanted=True)

    def _wanted(self, pk: str, *, wanted: bool) -> Response:
        place = self.find(self.get_queryset(), pk)
        return self.answer(
            harvest_place_services.want_place(
                actor=self.actor, place=place, wanted=wanted, now=self.now
            )
        )

"""Of which properties something may be asked, each with the address that tells it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

from coop.api.views import ActorViewSet
from properties.land.queries import properties_visible_to

NO_ID = [OpenApiParameter("id", exclude=True, location=OpenApiParameter.PATH)]
"""For a list in a view whose other addresses name a property."""


@dataclass(frozen=True, kw_only=True)
class Ground:
    id: UUID
    name: str
    figures: str


class GroundSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField(help_text="The property's")
    name = serializers.CharField()
    figures = serializers.CharField(help_text="The address that tells its figures")


def grounds_of(view: ActorViewSet, collection: str) -> Sequence[Ground]:
    """The properties on which the actor may take the view's present action, by name."""
    view.require_somewhere()
    permitted = view.actor.properties_for(view.needed)
    lands = properties_visible_to(actor=view.actor).filter(id__in=permitted, retired_at=None)
    return [
        Ground(id=id_, name=name, figures=f"/api/v1/{collection}/{id_}/figures/")
        for id_, name in lands.order_by("name", "id").values_list("id", "name")
    ]

"""A reference to a property, from a floor that does not know what a property is."""

from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.access.roles import Action
from coop.api.views import actor_of_view


@extend_schema_field(OpenApiTypes.UUID)
class PropertyIdField(serializers.Field[UUID, Any, str, UUID]):
    """The id of a property that the caller may see; hidden and made-up ids are told alike."""

    default_error_messages = {
        "does_not_exist": "There is no such object, or none that you may see.",
        "incorrect_type": "Must be a public id (UUID).",
    }

    def to_internal_value(self, data: Any) -> UUID:
        try:
            property_id = UUID(str(data))
        except ValueError:
            self.fail("incorrect_type")
        if property_id not in actor_of_view(self.context).properties_for(Action.PROPERTY_READ):
            self.fail("does_not_exist")
        return property_id

    def to_representation(self, value: UUID) -> str:
        return str(value)

"""The door of every view: what its actions need, asked of the one table."""

from typing import Any

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from coop.access.authentication import actor_of


class MayTakeAction(BasePermission):
    """Somebody known may come in; what they see and may do is decided object by object."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return actor_of(request).is_known

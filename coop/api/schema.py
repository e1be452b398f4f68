"""The OpenAPI description: every operation names its permission row and its problems."""

from typing import Any

from django.core.exceptions import FieldDoesNotExist
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import is_list_serializer
from rest_framework.fields import CharField, ChoiceField
from rest_framework.mixins import ListModelMixin

from coop.access.roles import PERMISSIONS
from coop.api.sparse import PARAMETER

TIME_OF_DAY = r"^([01]\d|2[0-3]):[0-5]\d(:[0-5]\d(\.\d{1,6})?)?$"


class PersonalTokenScheme(OpenApiAuthenticationExtension):
    target_class = "coop.access.authentication.PersonalTokenAuthentication"
    name = "personalToken"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {
            "type": "apiKey",
            "in": "header",
            "name": "Authorization",
            "description": "A person's token: `Authorization: Token …`",
        }


class ApplicationScheme(OpenApiAuthenticationExtension):
    target_class = "coop.access.authentication.ApplicationAuthentication"
    name = "application"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        from django.conf import settings

        return {
            "type": "oauth2",
            "description": "An outfitter's application (client credentials).",
            "flows": {
                "clientCredentials": {
                    "tokenUrl": "/oauth/token/",
                    "scopes": settings.OAUTH2_PROVIDER["SCOPES"],
                }
            },
        }


class DescribedSchema(AutoSchema):
    """Adds to each operation which roles may call it."""

    def get_description(self) -> str:  # type: ignore[override]
        described = super().get_description() or ""
        action = getattr(self.view, "needs", {}).get(getattr(self.view, "action", ""))
        if action is None:
            return described
        roles = ", ".join(sorted(PERMISSIONS[action]))
        return f"{described}\n\nPermission `{action}`: {roles}.".strip()

    def _map_basic_serializer(self, serializer: Any, direction: Any) -> dict[str, Any]:
        """Members that ``null_unless_shown`` names are null for whoever may not see them."""
        schema: dict[str, Any] = super()._map_basic_serializer(serializer, direction)
        if direction != "response":
            return schema
        for name, field in serializer.fields.items():
            if name in schema["properties"] and _may_be_blank(field):
                schema["properties"][name].pop("format", None)
        hidden = getattr(serializer, "null_unless_shown", ())
        for name in hidden:
            member = schema["properties"][name]
            told = {key: member.pop(key) for key in ("readOnly", "description") if key in member}
            schema["properties"][name] = {"anyOf": [member, {"type": "null"}], **told}
        return schema

    def _map_serializer_field(
        self, field: Any, direction: Any, bypass_extensions: bool = False
    ) -> Any:
        """A column that may be empty is told as empty text, also where nobody may send that."""
        if direction == "response" and isinstance(field, ChoiceField) and _may_be_blank(field):
            field.allow_blank = True
        return super()._map_serializer_field(field, direction, bypass_extensions)

    def _is_list_view(self, serializer: Any = None) -> bool:
        """A question that answers one object is no list, though its address is a list's."""
        asked: bool = super()._is_list_view(serializer)
        if not asked or isinstance(self.view, ListModelMixin):
            return asked
        return is_list_serializer(serializer or self.get_response_serializers())

    def get_tags(self) -> list[str]:
        tag = getattr(self.view, "tag", None)
        return [tag] if tag else super().get_tags()


def _may_be_blank(field: Any) -> bool:
    """Whether a serializer's field shows a column of text that may be empty."""
    model = getattr(getattr(field.parent, "Meta", None), "model", None)
    if model is None or not isinstance(field, CharField | ChoiceField):
        return False
    try:
        column = model._meta.get_field(field.source)
    except FieldDoesNotExist:
        return False
    return bool(getattr(column, "blank", False)) and not column.null


PROBLEM = {
    "type": "object",
    "description": "Problem details (RFC 9457)",
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "code": {"type": "string", "description": "Stable; documented at /docs/problems"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "pointer": {"type": "string"},
                    "detail": {"type": "string"},
                    "code": {"type": "string"},
                },
                "required": ["pointer", "detail"],
            },
        },
        "refusals": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "code": {"type": "string"},
                    "sentence": {"type": "string"},
                    "facts": {"type": "object", "additionalProperties": True},
                    "overrulable": {"type": "boolean"},
                },
                "required": ["code", "sentence"],
            },
        },
    },
    "required": ["type", "title", "status", "code", "detail"],
}


def mend_schemas(result: dict[str, Any], **_later: Any) -> dict[str, Any]:
    """Say ``anyOf`` where null is one choice, for a schema of anything also holds null; and a
    pattern for times of day, since the format ``time`` of JSON Schema wants an offset."""
    _mend(result)
    return result


def _mend(node: Any) -> None:
    if isinstance(node, dict):
        if {"type": "null"} in node.get("oneOf", []):
            node["anyOf"] = node.pop("oneOf")
        if node.get("format") == "time":
            del node["format"]
            node["pattern"] = TIME_OF_DAY
        for inner in node.values():
            _mend(inner)
    elif isinstance(node, list):
        for inner in node:
            _mend(inner)


_ANSWERS = {
    "400": "Invalid input; `errors` names each field",
    "401": "No valid credential",
    "403": "Visible, but not yours to do",
    "404": "No such object, or none that you may see",
    "410": "This cursor has ended: drop the copy and begin without one",
    "409": "A conflict, or house rules objected: `refusals` lists each",
    "412": "Changed since you read it",
    "422": "The idempotency key came with another body",
    "428": "If-Match is needed",
    "429": "The quota of this minute is spent; Retry-After tells when the next begins",
}


def add_problem_answers(result: dict[str, Any], **_later: Any) -> dict[str, Any]:
    """Give every operation its problem answers, and POSTs their idempotency header."""
    result["components"].setdefault("schemas", {})["Problem"] = PROBLEM
    for path, operations in result["paths"].items():
        for method, operation in operations.items():
            _describe(path, method, operation)
    return result


def _describe(path: str, method: str, operation: dict[str, Any]) -> None:
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for status in _statuses(path, method):
        operation["responses"].setdefault(
            status, {"description": _ANSWERS[status], "content": content}
        )
    if method == "get":
        operation.setdefault("parameters", []).append(
            {
                "in": "query",
                "name": PARAMETER,
                "schema": {"type": "string"},
                "description": "Members to answer with, with commas between, and no others, "
                "required ones included; all where left out.",
                "example": "id",
            }
        )
    if method == "post":
        operation.setdefault("parameters", []).append(
            {
                "in": "header",
                "name": "Idempotency-Key",
                "schema": {"type": "string", "maxLength": 255},
                "description": "Any value of your own; the same key and body act once.",
            }
        )
    if method == "patch":
        operation.setdefault("parameters", []).append(
            {
                "in": "header",
                "name": "If-Match",
                "schema": {"type": "string"},
                "description": "The ETag you read.",
            }
        )


def _statuses(path: str, method: str) -> list[str]:
    statuses = ["400", "401", "403", "429"]
    if "{" in path:
        statuses.append("404")
    if path.endswith("/changes/"):
        statuses.append("410")
    if method != "get":
        statuses.append("409")
    if method == "post":
        statuses.append("422")
    if method == "patch":
        statuses += ["412", "428"]
    return statuses

"""The bare address of the API: the collections that the caller may list."""

from collections.abc import Iterator
from inspect import getdoc
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import Actor, ActorKind
from coop.api.views import ActorViewSet

ADDRESS = "/api/v1/"


class CollectionSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    link = serializers.CharField()
    tag = serializers.CharField(help_text="Under which heading the reference has it")
    about = serializers.CharField()


class IndexSerializer(serializers.Serializer[Any]):
    docs = serializers.CharField(help_text="Pages for people")
    schema = serializers.CharField(help_text="The description, OpenAPI 3.1")
    collections = CollectionSerializer(many=True)


class IndexViewSet(ActorViewSet):
    """Where to begin: what the caller may list, with its addresses."""

    tag = "access"
    own_only = ("list",)
    serializer_class = IndexSerializer
    pagination_class = None
    filter_backends = []

    @extend_schema(operation_id="index", responses=IndexSerializer(many=False))
    def list(self, request: Request) -> Response:
        """The collections that you may list, by the one table of who may do what."""
        collections = [
            {
                "name": name,
                "link": f"{ADDRESS}{name}/",
                "tag": getattr(view, "tag", ""),
                "about": (getdoc(view) or "").partition("\n\n")[0].replace("\n", " "),
            }
            for name, view in sorted(_collections(), key=lambda one: one[0])
            if may_list(self.actor, view)
        ]
        told = {"docs": "/docs/", "schema": f"{ADDRESS}schema/", "collections": collections}
        return Response(told)


def may_list(actor: Actor, view: type[ActorViewSet]) -> bool:
    """Whether the table lets the actor list somewhere, or the list is one's own."""
    if view.for_persons and actor.kind is ActorKind.APPLICATION:
        return False
    if "list" in view.own_only:
        return True
    action = view.needs.get("list")
    return action is not None and actor.may_somewhere(action)


def _collections() -> Iterator[tuple[str, type[ActorViewSet]]]:
    """Names and views of everything that answers a GET of ``/api/v1/<name>/`` with a list."""
    for path, callback in _walk(get_resolver().url_patterns, ""):
        view = getattr(callback, "cls", None)
        actions = getattr(callback, "actions", None) or {}
        name = path.removeprefix(ADDRESS.lstrip("/")).strip("^$/")
        is_list = actions.get("get") == "list" and isinstance(view, type)
        if path.startswith(ADDRESS.lstrip("/")) and is_list and name:
            assert isinstance(view, type)
            assert issubclass(view, ActorViewSet)
            yield name, view


def _walk(patterns: Any, prefix: str) -> Iterator[tuple[str, Any]]:
    for pattern in patterns:
        path = prefix + str(pattern.pattern).removeprefix("^")
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern.url_patterns, path)
        elif isinstance(pattern, URLPattern):
            yield path, pattern.callback

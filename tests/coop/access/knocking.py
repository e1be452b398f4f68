"""Call an endpoint of the world as somebody, and undo what it did."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.http import HttpResponse
from django.utils import timezone
from oauth2_provider.models import get_access_token_model
from rest_framework.test import APIClient

from coop.access.models import PersonalToken
from coop.access.roles import Action
from coop.api.views import ActorViewSet
from tests.coop.access.endpoint import Endpoint, references, resolved
from tests.coop.access.places import PLACES, World
from tests.coop.access.test_routes import api_views

FILES = {
    "map": ("map.geojson", b'{"type": "FeatureCollection", "features": []}'),
    "paper": ("paper.pdf", b"%PDF-1.7\n%%EOF\n"),
    "table": ("table.csv", b"deployment,observed_at,kind\n"),
}


@dataclass(frozen=True, kw_only=True)
class Route:
    """One method of one path, with the view behind it."""

    key: str
    view: type[ActorViewSet]
    action: str

    @property
    def method(self) -> str:
        return self.key.split()[0].lower()

    @property
    def path(self) -> str:
        return self.key.partition(" ")[2]

    @property
    def needs(self) -> Action | None:
        """The row of the permission table; none where it is open to all or one's own."""
        return self.view.needs.get(self.action)

    @property
    def is_detail(self) -> bool:
        return "{id}" in self.path


def routes() -> dict[str, Route]:
    """Every method of every path under /api/v1/, as the resolver knows them."""
    found = {}
    for pattern, view, actions in api_views():
        path = pattern.removeprefix("api/v1/").replace("^", "").replace("$", "")
        path = re.sub(r"\(\?P<pk>[^)]*\)", "{id}", path)
        path = re.sub(r"\(\?P<(\w+)>[^)]*\)", r"{\1}", path)
        for method, action in (actions or {}).items():
            key = f"{method.upper()} {path}"
            found[key] = Route(key=key, view=view, action=action)
    return found


ROUTES = routes()


def clients_of(world: World) -> dict[str, APIClient]:
    """A client for every kind of caller, with the credential that belongs to them."""
    cast = world.cast
    known = {
        name: cast.client(getattr(cast, name))
        for name in ("coordinator", "manager", "member", "landowner", "stranger")
    }
    expired = _bearer("offers sits", world, expires_in=timedelta(hours=-1))
    return {
        **known,
        "revoked": cast.client(world.revoked),
        "application": _bearer("offers sits webhooks", world),
        "application for offers only": _bearer("offers", world),
        "application for sits only": _bearer("sits", world),
        "anonymous": APIClient(),
        "expired token": _token(world, expiry=timedelta(seconds=-1)),
        "revoked token": _token(world, revoked=True),
        "expired application token": expired,
        "made-up token": _with(f"Token {'0' * 64}"),
    }


def _with(authorization: str) -> APIClient:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=authorization)
    return client


def _token(world: World, *, expiry: timedelta | None = None, revoked: bool = False) -> APIClient:
    fields: dict[str, Any] = {"expiry": expiry} if expiry else {}
    row, text = PersonalToken.objects.create(user=world.cast.coordinator.user, **fields)
    if revoked:
        row.delete()
    return _with(f"Token {text}")


def _bearer(scope: str, world: World, *, expires_in: timedelta = timedelta(hours=1)) -> APIClient:
    token = get_access_token_model().objects.create(
        application=world.cast.outfitter.application,
        token=uuid4().hex,
        expires=timezone.now() + expires_in,
        scope=scope,
    )
    return _with(f"Bearer {token.token}")


@dataclass(frozen=True, kw_only=True)
class Knock:
    """One call: at ``place``, about the object ``kind`` of it; for the kinds in ``made_up``
    ids that nothing has stand in path, body and query. An edit sends ``if_match``, if any."""

    route: Route
    endpoint: Endpoint
    place: str
    kind: str = ""
    caller: str = ""
    made_up: frozenset[str] = frozenset()
    if_match: str | None = "*"

    def answer(self, world: World, client: APIClient) -> tuple[HttpResponse, str]:
        """The response, and its text with every id that was sent taken out."""
        sent: list[str] = []

        def resolve(kind: str) -> str:
            real = world.ids[self.place].get(kind)
            text = real if real and kind not in self.made_up else _made_up_like(real)
            sent.append(text)
            return text

        path = self._path(resolve)
        with transaction.atomic():
            response = self._call(world, client, path, resolve)
            # A stream is read while the world stands.
            content = response.getvalue() if response.streaming else response.content
            transaction.set_rollback(True)
        text = content.decode(errors="replace")
        for identifier in sent:
            text = text.replace(identifier, "ID")
        return response, text

    def asked(self, world: World) -> tuple[str, dict[str, Any], dict[str, Any]]:
        """The path, the query and the body, with the ids of the place at hand in them."""

        def resolve(kind: str) -> str:
            return world.ids[self.place].get(kind) or _made_up_like(None)

        parts = (dict(self.endpoint.query or {}), dict(self.endpoint.told(self.caller)))
        query, body = (_placed(resolved(part, resolve), world, self.place) for part in parts)
        return self._path(resolve), query, body

    def _path(self, resolve: Any) -> str:
        path = "/api/v1/" + self.route.path.replace("{table}", self.endpoint.table)
        return path.replace("{id}", resolve(self.kind)) if self.route.is_detail else path

    def _call(self, world: World, client: APIClient, path: str, resolve: Any) -> HttpResponse:
        query = _placed(resolved(dict(self.endpoint.query or {}), resolve), world, self.place)
        if self.endpoint.lists:
            query |= {"page_size": "200"} if self.route.view.pagination_class else {}
        if self.route.method == "get":
            return client.get(path, query)
        told = self.endpoint.told(self.caller)
        body = _placed(resolved(dict(told), resolve), world, self.place)
        is_edit = self.route.method == "patch" and self.if_match is not None
        headers = {"HTTP_IF_MATCH": self.if_match} if is_edit else {}
        send = getattr(client, self.route.method)
        if "file" in body:
            name, content = FILES[body["file"]]
            upload = {**body, "file": SimpleUploadedFile(name, content)}
            return send(path, upload, format="multipart", **headers)
        return send(path, body, format="json", **headers)


def knocks(route: Route, endpoint: Endpoint, world: World) -> Iterator[Knock]:
    """One call for each object that the endpoint can be about; one in all where it is about
    none in particular."""
    named = references(endpoint.body) | references(endpoint.query)
    for place in PLACES if route.is_detail or named else PLACES[:1]:
        kinds = [kind for kind in endpoint.of if kind in world.ids[place]]
        for kind in kinds if route.is_detail else [""]:
            yield Knock(route=route, endpoint=endpoint, place=place, kind=kind)


def _made_up_like(real: str | None) -> str:
    """An id that nothing has, of the same length where it is no UUID."""
    return str(uuid4()) if real is None or "-" in real else uuid4().hex[: len(real)]


def _placed(value: Mapping[str, Any], world: World, place: str) -> dict[str, Any]:
    """Coordinates of the place at hand for the words that stand for them."""
    land = world.land(place)
    words = {
        "place": [land.longitude, land.latitude],
        "longitude": land.longitude,
        "latitude": land.latitude,
    }
    return {
        name: _placed(each, world, place)
        if isinstance(each, Mapping)
        else words.get(each, each)
        if isinstance(each, str)
        else each
        for name, each in value.items()
    }

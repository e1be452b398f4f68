"""Every endpoint as every kind of caller: what the one table says, and nothing else.

Complete by construction: routes are enumerated, expected answers follow from the table, and a
new endpoint without an object in ``world.py`` fails here.
"""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from django.urls import get_resolver
from django.utils import timezone
from rest_framework.test import APIClient

from coop.access.models import PersonalToken
from coop.access.roles import Action, Role, roles_allowed
from coop.api.views import ActorViewSet
from properties.land.models import Property
from properties.people.models import Person, RoleGrant
from tests.cast import Cast, grant, make_cast, make_person
from tests.coop.access.world import ALIASES, OBJECTS

NO_OBJECT = {"token", "calendar-feed", "notice-preference"}
"""Routes to one's own things, which no other caller has any way to name."""

COOPERATIVE_WIDE = {"cooperative"}
"""Seen by everybody with a role anywhere in the cooperative."""

NARROWER: dict[tuple[str, str], str] = {
    ("sit", "member"): "a member reads their own sits",
    ("sit", "application"): "an application reads its own clients' sits",
    ("sit-report", "member"): "a member reads the reports of their own sits",
    ("sit-report", "application"): "an application reads its own clients' reports",
    ("sit-request", "member"): "a member reads their own wishes",
    ("harvest", "member"): "a member changes their own harvests",
    ("guest", "member"): "a member sees their own guests",
    ("guest", "landowner"): "guests are told of in the month's report",
    ("person", "landowner"): "a landowner reads names, of those who were there",
    ("paper", "member"): "papers are one's own, or a manager's business",
    ("harvest", "application"): "an application changes what its own clients took",
    ("fit", "application"): "what would make a sit better is told by the map",
    ("member", "manager"): "shares and joining are a coordinator's to change",
}
"""Where a room shows fewer rows than the table would allow, and why; it may never show more."""

NEEDS_A_QUERY = {("wind-history", "picture")}
"""Answers 404 without saying of which stand."""

BODIES: dict[tuple[str, str], dict[str, Any]] = {
    ("stand", "reopen"): {"reason": "Mended."},
    ("stand", "close"): {"reason": "A loose strap."},
    ("stand", "inspections"): {
        "inspected_on": "2025-08-01",
        "inspected_by": "Max",
        "passed": True,
    },
    ("scrape", "record_event"): {"happened_on": "2025-08-01", "what": "repaired"},
    ("harvest-plan", "partial_update"): {"planned": 3},
}
"""Bodies that can be read, so that the answer is about the caller and not about the body."""

OK_IF_ALLOWED = {200, 201, 202, 204, 400, 409, 415, 428}


@dataclass(frozen=True, kw_only=True)
class Route:
    path: str
    basename: str
    method: str
    action: str
    view: type[ActorViewSet]

    @property
    def needed(self) -> Action:
        return self.view.needs[self.action]

    @property
    def reading(self) -> Action:
        """The action that lets somebody see the object at all."""
        needs = self.view.needs
        if ALIASES.get(self.basename) == "property":
            return Action.PROPERTY_READ
        return needs.get("retrieve") or needs.get("list") or self.needed


def routes() -> Iterator[Route]:
    def walk(patterns: Any, prefix: str) -> Iterator[tuple[str, Any]]:
        for pattern in patterns:
            path = prefix + str(pattern.pattern)
            if hasattr(pattern, "url_patterns"):
                yield from walk(pattern.url_patterns, path)
            elif path.startswith("api/v1/"):
                yield path.replace("^", "").replace("$", ""), pattern.callback

    for path, callback in walk(get_resolver().url_patterns, ""):
        for method, action in getattr(callback, "actions", {}).items():
            if action in callback.cls.needs:
                yield Route(
                    path=path,
                    basename=callback.initkwargs["basename"],
                    method=method,
                    action=action,
                    view=callback.cls,
                )


DETAIL = [route for route in routes() if "(?P<pk>" in route.path]
LISTS = [route for route in routes() if "(?P" not in route.path and route.method == "get"]


@dataclass(frozen=True, kw_only=True)
class Caller:
    name: str
    client: APIClient
    roles: dict[str, set[Role]]
    cooperative: bool = True


@dataclass(frozen=True, kw_only=True)
class World:
    cast: Cast
    callers: dict[str, Caller]
    locked_out: dict[str, APIClient]
    objects: dict[str, dict[str, Any]]

    def url(self, route: Route, target: str, identifier: Any = None) -> str:
        kind = ALIASES.get(route.basename, route.basename)
        pk = identifier or self.objects[target][kind].pk
        head, _, tail = route.path.partition("(?P<pk>")
        tail = tail.partition(")")[2].replace("(?P<table>[a-z_]+)", "incidents")
        return f"/{head}{pk}{tail}"


def make_world() -> World:
    cast = make_cast()
    revoked = make_person(cast.cooperative, "Rex Revoked")
    RoleGrant.objects.filter(id=grant(revoked, Role.MANAGER, cast.north).id).update(
        revoked_at=timezone.now()
    )
    everywhere = {"north": {Role.COORDINATOR}, "south": {Role.COORDINATOR}}
    callers = [
        Caller(name="coordinator", client=cast.client(cast.coordinator), roles=everywhere),
        Caller(name="manager", client=cast.client(cast.manager), roles={"north": {Role.MANAGER}}),
        Caller(name="member", client=cast.client(cast.member), roles={"north": {Role.MEMBER}}),
        Caller(
            name="landowner", client=cast.client(cast.landowner), roles={"north": {Role.LANDOWNER}}
        ),
        Caller(
            name="application",
            client=cast.application_client(),
            roles={"north": {Role.APPLICATION}},
            cooperative=False,
        ),
        Caller(
            name="stranger",
            client=cast.client(cast.stranger),
            roles={"foreign": {Role.MANAGER, Role.MEMBER}},
            cooperative=False,
        ),
        Caller(name="revoked", client=cast.client(revoked), roles={}, cooperative=False),
    ]
    lands: dict[str, Property] = {
        "north": cast.north,
        "south": cast.south,
        "foreign": cast.foreign,
    }
    return World(
        cast=cast,
        callers={caller.name: caller for caller in callers},
        locked_out={
            "anonymous": APIClient(),
            "expired": expired(cast.manager),
            "unknown token": with_token("0" * 64),
        },
        objects={
            where: {kind: make(land) for kind, make in OBJECTS.items()}
            for where, land in lands.items()
        },
    )


def with_token(text: str) -> APIClient:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {text}")
    return client


def expired(person: Person) -> APIClient:
    _row, text = PersonalToken.objects.create(user=person.user, expiry=timedelta(days=-1))
    return with_token(text)


@pytest.fixture
def world(db: None) -> World:
    return make_world()


def call(
    client: APIClient,
    method: str,
    url: str,
    body: dict[str, Any] | None = None,
    form: str = "json",
) -> Any:
    """Whatever a call writes is undone, so that the order of calls does not matter."""
    with transaction.atomic():
        if method in ("post", "patch", "put"):
            body = body or {}
        more = {"HTTP_IF_MATCH": "*"} if method == "patch" else {}
        answer = getattr(client, method)(url, body, format=form, **more)
        transaction.set_rollback(True)
    return answer


def ask(world: World, route: Route, caller: Caller, target: str) -> Any:
    body = BODIES.get((route.basename, route.action))
    if (route.basename, route.action) == ("errand", "assign"):
        body = {"assignee": str(caller_person(world, caller))}
    form = "multipart" if route.action == "import_file" else "json"
    return call(caller.client, route.method, world.url(route, target), body, form)


def caller_person(world: World, caller: Caller) -> Any:
    """Somebody whom the caller can name: themselves."""
    return getattr(getattr(world.cast, caller.name, None), "pk", uuid.uuid4())


def expected(route: Route, caller: Caller, target: str) -> set[int]:
    roles = caller.roles.get(target, set())
    if route.basename in COOPERATIVE_WIDE and target != "foreign" and caller.cooperative:
        roles = set().union(*caller.roles.values())
    if not roles & (roles_allowed(route.reading) | roles_allowed(route.needed)):
        return {404}
    is_narrower = (route.basename, caller.name) in NARROWER
    is_narrower |= (route.basename, route.action) in NEEDS_A_QUERY
    narrower = {404} if is_narrower else set()
    if not roles & roles_allowed(route.needed):
        return {403} | narrower
    return OK_IF_ALLOWED | narrower | ({403} if narrower else set())


def test_every_endpoint_about_an_object_has_one_in_the_world():
    known = OBJECTS.keys() | ALIASES.keys() | NO_OBJECT
    missing = {route.basename for route in DETAIL} - known

    assert not missing, f"add to OBJECTS in tests/coop/access/world.py: {sorted(missing)}"


@pytest.mark.parametrize(
    "name",
    [
        "coordinator",
        "manager",
        "member",
        "landowner",
        "application",
        "stranger",
        "revoked",
    ],
)
def test_a_caller_gets_what_the_table_says_and_nothing_else(world, name):
    caller = world.callers[name]
    wrong = []
    for route in DETAIL:
        if route.basename in NO_OBJECT:
            continue
        for target in ("north", "south", "foreign"):
            status = ask(world, route, caller, target).status_code
            allowed = expected(route, caller, target)
            if status not in allowed:
                wrong.append(
                    f"{route.method.upper()} {route.path} ({route.action}) on {target}: "
                    f"{status}, not {sorted(allowed)}"
                )

    assert not wrong, "\n" + "\n".join(wrong)


@pytest.mark.parametrize("name", ["anonymous", "expired", "unknown token"])
def test_without_a_valid_credential_every_endpoint_answers_401(world, name):
    client = world.locked_out[name]
    urls = [world.url(r, "north") for r in DETAIL if r.basename not in NO_OBJECT]
    statuses = {url: call(client, "get", url).status_code for url in urls}
    statuses |= {route.path: call(client, "get", f"/{route.path}").status_code for route in LISTS}

    assert {url for url, status in statuses.items() if status != 401} == set()


@pytest.mark.parametrize("name", ["member", "application", "stranger", "revoked"])
def test_a_hidden_id_and_an_unknown_one_get_the_same_answer(world, name):
    caller = world.callers[name]
    differing = []
    for route in DETAIL:
        target = "north" if name in ("stranger", "revoked") else "foreign"
        if route.basename in NO_OBJECT:
            continue
        hidden = call(caller.client, route.method, world.url(route, target))
        unknown = call(caller.client, route.method, world.url(route, target, uuid.uuid4()))
        if (hidden.status_code, hidden.content) != (unknown.status_code, unknown.content):
            differing.append(f"{route.method.upper()} {route.path}")

    assert not differing


@pytest.mark.parametrize(
    "name",
    [
        "manager",
        "member",
        "landowner",
        "application",
        "stranger",
        "revoked",
    ],
)
def test_no_list_and_no_filter_shows_an_object_out_of_reach(world, name):
    caller = world.callers[name]
    # Everybody is told the cooperative they are in, be it on their own row alone.
    shared = {str(world.cast.cooperative.pk)} if name != "stranger" else set()
    hidden = {
        str(found.pk): f"{where} {kind}"
        for where, objects in world.objects.items()
        if not caller.roles.get(where)
        for kind, found in objects.items()
        if str(found.pk) not in shared
    }
    land = {where: str(objects["property"].pk) for where, objects in world.objects.items()}
    shown = []
    for route in LISTS:
        queries = [""] + [f"?property={land[where]}" for where in land if where not in caller.roles]
        for query in queries:
            text = call(caller.client, "get", f"/{route.path}{query}").content.decode()
            # A question may be repeated in the answer that refuses it.
            asked = query.rpartition("=")[2]
            shown += [
                f"{route.path}{query}: {what}"
                for identifier, what in hidden.items()
                if identifier != asked and identifier in text
            ]

    assert not shown, "\n" + "\n".join(shown)

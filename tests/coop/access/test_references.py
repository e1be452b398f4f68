"""References by id, in bodies and in filters, tell nobody what they may not know."""

import importlib
import inspect
import pkgutil
import re
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

import django_filters
import pytest
from rest_framework import serializers

import coop
import properties
import scheduling
import scrapes
from coop.api.fields import VisibleField
from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.kinds import CALLERS, KINDS
from tests.coop.access.knocking import ROUTES
from tests.coop.access.places import PLACES

pytestmark = pytest.mark.django_db

PERSONS = ("coordinator", "manager", "member", "landowner", "stranger")

KIND_OF_MODEL = {
    "Cooperative": "cooperative",
    "Property": "property",
    "Feature": "feature",
    "Person": "person",
    "Outfitter": "outfitter",
    "Stand": "stand",
    "Scrape": "scrape",
    "CameraUnit": "camera",
    "Deployment": "deployment",
    "Errand": "errand",
    "Incident": "incident",
    "Lease": "lease",
    "Season": "season",
    "Sit": "sit",
    "Tag": "tag",
    "Tracking": "tracking",
}
"""Which object of the world stands for a model that a body may name."""

KIND_OF_FILTER = {
    "assignee": "person",
    "giver": "person",
    "holder": "person",
    "host": "person",
    "hanging_at": "scrape",
    "property_id": "property",
    "receiver": "person",
    "theft": "told_incident",
}
"""Filters whose name is not that of a kind."""


def test_every_reference_in_a_body_is_looked_up_among_what_the_caller_sees():
    open_ones = [
        f"{name}.{field_name}"
        for name, field_name, field in _written_fields()
        if isinstance(field, serializers.RelatedField) and not isinstance(field, VisibleField)
    ]

    assert open_ones == []


def test_no_body_takes_an_id_that_nobody_looks_up():
    sent = _sent()
    taken = [
        f"{name}.{field_name}"
        for name, field_name, field in _written_fields()
        if isinstance(field, serializers.UUIDField) and name.rsplit(".", 1)[-1] in sent
    ]

    assert len(sent) > 40
    assert taken == []


@pytest.mark.parametrize("caller", [*PERSONS, "application"])
def test_a_body_that_names_a_hidden_object_is_refused_like_one_that_names_none(world, caller):
    cast = world.cast
    actor = cast.application() if caller == "application" else cast.actor(getattr(cast, caller))
    faults: list[str] = []
    checked = 0
    for name, field_name, _field in _written_fields():
        field = _bound(name, field_name, actor)
        if not isinstance(field, VisibleField):
            continue
        kind = KIND_OF_MODEL.get(field.get_queryset().model.__name__)
        assert kind is not None, f"say in KIND_OF_MODEL what {name}.{field_name} names"
        for place in PLACES:
            seen = KINDS[kind].seen_by(caller, place)
            real, made_up = _verdict(field, world.ids[place][kind]), _verdict(field, str(uuid4()))
            checked += 1
            if (real == "taken") != seen or (not seen and real != made_up):
                faults.append(f"{name}.{field_name} naming the {kind} of the {place}: {real}")
    assert checked > 100
    assert not faults, "\n".join(faults)


LISTS = sorted(
    (key, name)
    for key, route in ROUTES.items()
    if route.action == "list" and getattr(route.view, "filterset_class", None)
    for name, each in route.view.filterset_class.get_filters().items()
    if isinstance(each, django_filters.UUIDFilter | django_filters.ModelChoiceFilter)
)


@pytest.mark.parametrize(("key", "name"), LISTS)
def test_a_list_filtered_by_a_hidden_id_is_the_list_filtered_by_none(world, clients, key, name):
    kind = name if name in KINDS else KIND_OF_FILTER.get(name, "")
    if name == "object_id":
        kind = "stand"
    if name == "ids":
        kind = ENDPOINTS[key].lists[0]
    assert kind, f"{key}?{name}=: say in KIND_OF_FILTER what it names"
    path = f"/api/v1/{ROUTES[key].path}"
    for caller in ("manager", "member", "landowner", "application", "stranger"):

        def told_of(identifier: str, caller: str = caller) -> tuple[int, str]:
            answer = clients[caller].get(path, {name: identifier})
            return answer.status_code, answer.content.decode().replace(identifier, "ID")

        about_nothing = told_of(str(uuid4()))
        for place in PLACES:
            if KINDS[kind].seen_by(caller, place) or _stands_in_rows(caller, kind, place):
                continue
            assert told_of(world.ids[place][kind]) == about_nothing, (caller, place)


def test_lists_are_filtered_by_ids_somewhere():
    assert len(LISTS) > 30


def _stands_in_rows(caller: str, kind: str, place: str) -> bool:
    """Which cooperative a property belongs to is told with the property."""
    together = ("foreign",) if place == "foreign" else ("north", "south")
    return kind == "cooperative" and any(CALLERS[caller].roles.get(each) for each in together)


def _verdict(field: Any, value: str) -> str:
    try:
        field.run_validation(value)
    except serializers.ValidationError as refused:
        return str(refused.detail).replace(value, "ID")
    return "taken"


def _input_serializers() -> dict[str, type[serializers.BaseSerializer[Any]]]:
    """Every serializer that the four floors define, by module and name."""
    for floor in (coop, properties, scheduling, scrapes):
        for module in pkgutil.walk_packages(floor.__path__, f"{floor.__name__}."):
            if module.name.endswith(("api", "serializers", "fields")):
                importlib.import_module(module.name)
    found: dict[str, type[serializers.BaseSerializer[Any]]] = {}
    waiting = [serializers.Serializer]
    while waiting:
        for each in waiting.pop().__subclasses__():
            waiting.append(each)
            if each.__module__.split(".")[0] in ("coop", "properties", "scheduling", "scrapes"):
                found[f"{each.__module__}.{each.__name__}"] = each
    return dict(sorted(found.items()))


SERIALIZERS = _input_serializers()


def _written_fields():
    """Fields that a caller may send, lists as what they list."""
    nobody = SimpleNamespace(_actor=None)
    for name, serializer_class in SERIALIZERS.items():
        for field_name, field in serializer_class(context={"request": nobody}).fields.items():
            if not field.read_only:
                yield name, field_name, _one(field)


_READS = re.compile(
    r"(?:read|read_query|_asked)\((?:self, )?(\w+Serializer)|(\w+Serializer)\(\s*data="
)


def _sent() -> set[str]:
    """Names of the serializers through which some view reads what was sent."""
    sources = {inspect.getsource(inspect.getmodule(each)) for each in SERIALIZERS.values()}
    return {first or second for source in sources for first, second in _READS.findall(source)}


def _one(field: Any) -> Any:
    return field.child_relation if isinstance(field, serializers.ManyRelatedField) else field


def _bound(name: str, field_name: str, actor: Any) -> Any:
    request = SimpleNamespace(_actor=actor)
    return _one(SERIALIZERS[name](context={"request": request}).fields[field_name])

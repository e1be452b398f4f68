"""The register says where each thing is, who has it, and which theft took it."""

import pytest
import time_machine

from properties.incidents.models import Incident
from tests.cast import NOW

pytestmark = pytest.mark.usefixtures("at_now")
ADDRESS = "/api/v1/equipment/"


@pytest.fixture
def at_now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def manager(cast):
    return cast.client(cast.manager)


def entered(cast, manager, **changes):
    body = {
        "property": str(cast.north.id),
        "kind": "driver",
        "name": "Post driver",
        "serial": "PD-7",
        "place_words": "barn",
        **changes,
    }
    made = manager.post(ADDRESS, body, format="json")
    assert made.status_code == 201, made.data
    return made.data


def changed(manager, thing, **fields):
    address = f"{ADDRESS}{thing['id']}/"
    return manager.patch(address, fields, format="json", HTTP_IF_MATCH="*")


def incident(land, kind="theft"):
    return Incident.objects.create(
        property=land, kind=kind, happened_at=NOW, place_words="barn", what="Gone."
    )


def test_a_thing_is_lent_to_somebody_and_comes_back(cast, manager):
    thing = entered(cast, manager)

    nobody = changed(manager, thing, state="lent")
    lent = changed(manager, thing, state="lent", holder=str(cast.member.id))
    back = changed(manager, thing, state="in_place", holder=None)

    assert nobody.status_code == 400
    assert lent.data["holder_name"] == "Mia Member"
    assert (back.data["state"], back.data["holder"]) == ("in_place", None)


def test_what_is_stolen_names_the_theft_and_what_is_found_again_names_it_no_more(cast, manager):
    thing, theft = entered(cast, manager), incident(cast.north)

    unnamed = changed(manager, thing, state="stolen")
    stolen = changed(manager, thing, state="stolen", theft=str(theft.id))
    listed = manager.get(ADDRESS, {"theft": str(theft.id)}).data["results"]
    found = changed(manager, thing, state="in_place")

    assert unnamed.status_code == 400
    assert stolen.data["theft"] == str(theft.id)
    assert [each["id"] for each in listed] == [thing["id"]]
    assert (found.data["state"], found.data["theft"]) == ("in_place", None)


def test_only_a_theft_on_the_same_property_can_be_named(cast, manager):
    thing = entered(cast, manager)
    hidden = incident(cast.foreign)

    for other in (incident(cast.north, "damage"), hidden):
        answer = changed(manager, thing, state="stolen", theft=str(other.id))
        assert answer.status_code == 400
    kept = changed(manager, thing, theft=str(incident(cast.north).id))
    assert kept.status_code == 400


def test_a_serial_stands_once_on_a_property_until_its_thing_is_retired(cast, manager):
    thing = entered(cast, manager)
    twice = {
        "property": str(cast.north.id),
        "kind": "driver",
        "name": "Another",
        "serial": "PD-7",
    }

    assert manager.post(ADDRESS, twice, format="json").status_code == 400
    assert manager.post(f"{ADDRESS}{thing['id']}/retire/").data["retired_at"] is not None
    assert manager.post(ADDRESS, twice, format="json").status_code == 201


def test_members_landowners_and_strangers_see_no_register(cast, manager):
    thing = entered(cast, manager)

    for person in (cast.member, cast.landowner, cast.stranger):
        client = cast.client(person)
        assert client.get(ADDRESS).data["results"] == []
        assert client.get(f"{ADDRESS}{thing['id']}/").status_code == 404

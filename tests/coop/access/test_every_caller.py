"""Every endpoint, asked by every kind of caller about every kind of place.

What is expected follows from the permission table; ``endpoints`` and ``kinds`` hold only
what the table cannot know, with reasons.
"""

import re
from dataclasses import replace

import pytest

from coop.access.roles import Action
from tests.coop.access.endpoint import Endpoint, references
from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.kinds import CALLERS, KINDS, NOT_ASKED, UNKNOWN_CALLERS
from tests.coop.access.knocking import ROUTES, Knock, knocks
from tests.coop.access.places import PLACES, World

pytestmark = pytest.mark.django_db

OPEN = {"POST sign-in/"}
ASKED = sorted((set(ROUTES) & set(ENDPOINTS)) - OPEN)


def test_every_endpoint_stands_in_the_table_of_endpoints():
    missing = sorted(set(ROUTES) - set(ENDPOINTS))
    gone = sorted(set(ENDPOINTS) - set(ROUTES))

    assert not missing, (
        f"No row in tests/coop/access/endpoints*.py for {', '.join(missing)}: say which kinds of "
        "object {id} names (of), what is sent (body, query) and what is listed (lists); a new "
        "kind of object is also made on all three places (ground, air_and_scrapes, doings) and "
        "gets its row in kinds.py."
    )
    assert not gone, f"These endpoints are no more; take out their rows: {', '.join(gone)}"


def test_every_kind_of_object_that_an_endpoint_names_is_in_the_world(world):
    for key, endpoint in ENDPOINTS.items():
        named = {*endpoint.of, *endpoint.lists}
        named |= references(endpoint.body) | references(endpoint.query)
        for kind in named:
            assert kind in KINDS, f"{key}: say in kinds.py who sees a {kind}"
            assert any(kind in world.ids[place] for place in PLACES), f"{key}: make a {kind}"


@pytest.mark.parametrize("key", ASKED)
def test_every_caller_is_answered_as_the_permission_table_says(world, clients, key):
    route, endpoint = ROUTES[key], ENDPOINTS[key]
    faults: list[str] = []
    for knock in knocks(route, endpoint, world):
        for caller in CALLERS:
            if knock.place not in NOT_ASKED.get(caller, ()):
                faults += _faults(world, clients, caller, knock)
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("caller", UNKNOWN_CALLERS)
def test_whoever_cannot_say_who_they_are_is_asked_to_everywhere(world, clients, caller):
    faults: list[str] = []
    for key in ASKED:
        knock = next(knocks(ROUTES[key], ENDPOINTS[key], world))
        faults += _unknown_fault(world, clients, caller, knock)
    assert not faults, "\n".join(faults)


def test_signing_in_is_open_to_all_and_tells_everybody_the_same(world, clients):
    wrong = {"email": "nobody@example.org", "password": "wrong"}
    told = {
        clients[name].post("/api/v1/sign-in/", wrong, format="json").content
        for name in ("anonymous", "member", "application")
    }

    assert len(told) == 1


def _unknown_fault(world, clients, caller, knock):
    response, _text = knock.answer(world, clients[caller])
    if response.status_code == 401:
        return []
    return [f"{knock.route.key}: {caller} got {response.status_code}, not 401"]


def _faults(world: World, clients, caller: str, knock: Knock) -> list[str]:
    knock = replace(knock, caller=caller)
    endpoint, client = knock.endpoint, clients[caller]
    response, text = knock.answer(world, client)
    what = f"{knock.route.key} as {caller} about {knock.kind or 'what is'} in the {knock.place}"
    faults = [f"{what}: {leak}" for leak in _leaks(world, caller, text)]
    if endpoint.lists and not knock.route.is_detail:
        return faults + [
            f"{what}: {fault}" for fault in _list_faults(world, caller, endpoint, text)
        ]
    expected = _expected(world, caller, knock)
    status = response.status_code
    if expected in (400, 404):
        unknown = _answer_to_made_up_ids(world, client, knock, expected)
        if unknown != text:
            faults.append(f"{what}: told apart from a made-up id: {text[:200]} / {unknown[:200]}")
    succeeded = status < 300 or status in endpoint.refused
    if not (succeeded if expected == 200 else status == expected):
        faults.append(f"{what}: got {status}, not {expected}: {text[:200]}")
    return faults


def _answer_to_made_up_ids(world: World, client, knock: Knock, expected: int) -> str:
    """What is told of ids that nothing has; it is asked once where nothing seen is named."""
    if expected == 404:
        hidden, place = frozenset({knock.kind}), ""
    else:
        hidden = _hidden(world, knock)
        named = references(knock.endpoint.told(knock.caller)) | references(knock.endpoint.query)
        place = knock.place if named - hidden or knock.kind else ""
    asked = (knock.route.key, knock.caller, place, "" if expected == 404 else hidden)
    if asked not in world.told_of_made_up:
        world.told_of_made_up[asked] = replace(knock, made_up=hidden).answer(world, client)[1]
    return world.told_of_made_up[asked]


def _expected(world: World, caller: str, knock: Knock) -> int:
    """The status that the permission table leads to; 200 stands for any success."""
    route, place = knock.route, knock.place
    if route.is_detail and not KINDS[knock.kind].seen_by(caller, place):
        return 404
    if _hidden(world, knock):
        return 400
    return 200 if _permitted(caller, knock) else 403


def _hidden(world: World, knock: Knock) -> frozenset[str]:
    """The kinds in body and query that the caller does not see at the place."""
    named = references(knock.endpoint.told(knock.caller)) | references(knock.endpoint.query)
    return frozenset(
        kind
        for kind in named
        if kind not in world.ids[knock.place] or not KINDS[kind].seen_by(knock.caller, knock.place)
    )


def _permitted(caller: str, knock: Knock) -> bool:
    endpoint, action = knock.endpoint, knock.route.needs
    owns = bool(knock.kind) and KINDS[knock.kind].is_owned_by(caller)
    if owns and "owner" in endpoint.also:
        return True
    if caller in endpoint.also:
        return True
    if not owns and any(caller.startswith(name) for name in endpoint.never):
        return False
    if action is None or knock.route.action == "retrieve":
        return True  # Whoever sees an object reads it.
    return _by_the_table(caller, knock, action)


def _by_the_table(caller: str, knock: Knock, action: Action) -> bool:
    who, endpoint = CALLERS[caller], knock.endpoint
    if knock.kind and KINDS[knock.kind].private and KINDS[knock.kind].is_owned_by(caller):
        return True
    if endpoint.in_cooperative or (knock.kind and KINDS[knock.kind].of_cooperative):
        return who.may_in_cooperative(action, knock.place)
    if endpoint.everywhere is not None and knock.kind.startswith("joint"):
        return all(who.may(endpoint.everywhere, place) for place in ("north", "south"))
    has_place = knock.kind or references(endpoint.body) or references(endpoint.query)
    if not has_place:
        return any(who.may(action, place) for place in PLACES)
    return who.may(action, knock.place)


def _list_faults(world: World, caller: str, endpoint: Endpoint, text: str):
    """Each listed kind is there where the caller sees it, and nowhere else."""
    for place in PLACES:
        for kind in endpoint.lists:
            if kind not in world.ids[place] or kind in WITHOUT_ID:
                continue
            seen, there = KINDS[kind].seen_by(caller, place), world.ids[place][kind] in text
            if seen != there:
                yield f"{kind} of {place} {'is missing' if seen else 'is listed'}"


WITHOUT_ID = {"observed_hour", "observation"}
"""Kinds whose rows are told without their own id; their words give them away."""


def _leaks(world: World, caller: str, text: str):
    """Words or ids of a place on which the caller holds no role."""
    for place in PLACES:
        if CALLERS[caller].roles.get(place):
            continue
        found = re.findall(rf"\w*mark{place.title()}\b|papermark_{place}", text)
        found = set(found) - OWN_TELLS.get(caller, set())
        if found:
            yield f"tells {sorted(set(found))} of the {place}"
        for kind, identifier in world.ids[place].items():
            if kind in WITHOUT_ID:
                continue
            if identifier in text and not _is_shared(world, caller, kind, place, identifier):
                yield f"tells the id of the {kind} of the {place}"


SAME_COOPERATIVE = {"revoked": ("north", "south")}
"""Whoever holds no role any more is still a person of their cooperative, and is told so."""
OWN_TELLS = {
    "revoked": {"property", "land_of_sits", "third_stand", "StandmarkNorth", "PropertymarkNorth"}
}
"""What one's own objects name of a place on which one holds no role: where the sit was."""


def _is_shared(world: World, caller: str, kind: str, place: str, identifier: str) -> bool:
    """North and south share their cooperative; what one owns is one's own everywhere."""
    if KINDS[kind].seen_by(caller, place) or kind in OWN_TELLS.get(caller, ()):
        return True
    if kind == "cooperative" and place in SAME_COOPERATIVE.get(caller, ()):
        return True
    return any(
        identifier == other
        for elsewhere in CALLERS[caller].roles
        for other in world.ids[elsewhere].values()
    )

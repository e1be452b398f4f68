"""Who may not edit what they see hears so first, whatever tag they send."""

from dataclasses import replace

import pytest

from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.kinds import CALLERS, NOT_ASKED
from tests.coop.access.knocking import ROUTES, knocks

pytestmark = pytest.mark.django_db

EDITS = sorted(key for key in set(ROUTES) & set(ENDPOINTS) if key.startswith("PATCH "))
WRONG = '"987654"'
STALE = {None: 428, WRONG: 412}


def asked(world, clients, key):
    """Each caller and each object, with the status under a tag that fits."""
    for knock in knocks(ROUTES[key], ENDPOINTS[key], world):
        for caller in CALLERS:
            if knock.place not in NOT_ASKED.get(caller, ()):
                as_caller = replace(knock, caller=caller)
                response, _text = as_caller.answer(world, clients[caller])
                yield as_caller, response.status_code


@pytest.mark.parametrize("key", EDITS)
def test_permission_comes_before_preconditions(world, clients, key):
    faults, met = [], set()
    for knock, status in asked(world, clients, key):
        met.add(status)
        for tag, stale in STALE.items():
            response, text = replace(knock, if_match=tag).answer(world, clients[knock.caller])
            expected = stale if status == 200 else status
            if status in (200, 403, 404) and response.status_code != expected:
                faults.append(
                    f"{knock.caller} about {knock.kind} in the {knock.place} with {tag}: "
                    f"got {response.status_code}, not {expected}: {text[:120]}"
                )

    assert not faults, "\n".join(faults)
    assert met & {200, 403}, "nobody saw what is edited"


def test_an_edit_refused_for_its_tag_leaves_nothing_behind(world, clients):
    key = "PATCH stands/{id}/"
    knock = replace(next(knocks(ROUTES[key], ENDPOINTS[key], world)), caller="coordinator")
    path, _query, body = knock.asked(world)
    client = clients["coordinator"]
    before = client.get(path)
    body = {**body, "name": "Renamed by somebody late"}

    for tag, stale in STALE.items():
        headers = {} if tag is None else {"HTTP_IF_MATCH": tag}
        answer = client.patch(path, body, format="json", **headers)
        assert answer.status_code == stale
        after = client.get(path)
        assert (after["ETag"], after.json()) == (before["ETag"], before.json())
    answer = client.patch(path, body, format="json", HTTP_IF_MATCH=before["ETag"])
    assert answer.status_code == 200, answer.content

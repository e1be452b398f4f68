"""What was read of an object may be sent back whole, as conventions promise."""

from dataclasses import replace

import pytest

from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.knocking import ROUTES, knocks

pytestmark = pytest.mark.django_db

EDITS = sorted(key for key in set(ROUTES) & set(ENDPOINTS) if key.startswith("PATCH "))


@pytest.mark.parametrize("key", EDITS)
@pytest.mark.parametrize("caller", ["coordinator", "manager"])
def test_whoever_may_edit_an_object_may_send_it_back_as_it_was_read(world, clients, key, caller):
    client, faults = clients[caller], []
    for knock in knocks(ROUTES[key], ENDPOINTS[key], world):
        path, _query, _body = replace(knock, caller=caller).asked(world)
        shown = client.get(path)
        if shown.status_code != 200:
            continue
        answer = client.patch(path, shown.json(), format="json", HTTP_IF_MATCH=shown["ETag"])
        for error in answer.json().get("errors", ()):
            if error["code"] == "unknown":
                faults.append(f"{path}: {error['pointer']}")

    assert not faults, "\n".join(faults)

"""What no answer to a landowner, an outfitter or a member may hold, wherever it is read.

Every GET of the API is asked as each of them, about everything that they see.
"""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.coop.access.endpoints import ENDPOINTS
from tests.coop.access.kinds import KINDS
from tests.coop.access.knocking import ROUTES, Knock, knocks
from tests.coop.access.places import CONTACT, World

pytestmark = pytest.mark.django_db

SECRETS = {
    "landowner": (
        CONTACT,
        r"(?:Rent|Leasenote)mark\w+",
        r"(?:Tagnumber|Usedtag|Sample|Checknumber)mark\w+",
        # Who is on their land today, on foot too, they are told by name.
        r"(?:Gatecode|Medical|Neighbour|Emergencywhy)mark\w+|Handlermark(?:South|Foreign)",
        r"(?:Scrape|Scrapenote|Camera|Cameracode|Cameraword|Buck|Featurenote|Standnote)mark\w+",
        r"papermark_\w+",
        r"(?:Trouble|Troubleplace|Evidence|Evidencename|Followup|Equipment|Serial|Worktitle)mark\w+",
        r"(?:Sitnote|Incident|Harvestnote|Condition)mark(?:South|Foreign)",
    ),
    "application": (
        CONTACT,
        r"(?:Rent|Ownrent|Leasenote|Vehicle)mark\w+",
        r"(?:Tagnumber|Usedtag|Sample|Checknumber)mark\w+",
        r"(?:Gatecode|Medical|Neighbour|Handler|Emergencywhy)mark\w+",
        r"(?:First|Person|Guest|Newcomer)mark\w+",
        r"Max Manager|Mia Member|Lou Landowner|Rita Revoked|Gus Guest|\bMia\b|\bMax\b",
        r"Featuremark\w+|Featurenotemark\w+",
        r"(?:Scrape|Scrapenote|Event|Camera|Cameracode|Buck|Cameraword)mark\w+",
        r"(?:Standnote|Inspection|Inspector|Exclusion|Errand|Landnote)mark\w+",
        r"\bWebhookmark\w+",
        r"(?:Trouble|Troubleplace|Evidence|Evidencename|Followup|Told|Equipment|Serial|Worktitle)mark\w+",
        r"papermark_\w+",
    ),
    "member": (
        CONTACT,
        r"(?:Rent|Ownrent|Leasenote)mark\w+|Vehiclemark(?:South|Foreign)",
        r"(?:Tagnumber|Usedtag|Sample|Checknumber)mark\w+",
        r"(?:Medical|Neighbour)mark\w+|(?:Gatecode|Handler|Emergencywhy)mark(?:South|Foreign)",
        r"papermark_\w+",
        r"(?:Camera|Cameracode|Cameraword|Buck|Import|File|Source)mark\w+",
        r"\b(?:Sitnote|Incident|Condition|Harvestnote)mark\w+",
        r"\b(?:Trouble|Troubleplace|Evidence|Evidencename|Followup|Told)mark\w+",
        r"(?:Equipment|Serial|Worktitle)mark\w+",
        r"(?:Message|Auditor|Job|Token|Newcomer|Webhook|OwnWebhook)mark\w+",
        r"\"entitlement_weight\":3",
    ),
}
"""Patterns by caller, of what belongs to others."""


@pytest.mark.parametrize("caller", sorted(SECRETS))
def test_no_answer_holds_what_is_not_for_whoever_asks(world, clients, caller):
    told: list[str] = []
    read = 0
    for knock in _reads(world, caller):
        response, text = knock.answer(world, clients[caller])
        read += response.status_code == 200
        for secret in SECRETS[caller]:
            found = set(re.findall(secret, text))
            if found:
                told.append(f"{knock.route.key} {knock.kind} {knock.place}: {sorted(found)}")
    assert read > 15
    assert not told, "\n".join(told)


def test_a_refused_booking_names_no_mapped_place_to_an_outfitter(world, clients):
    key = "POST sits/"
    told = {}
    for caller in ("application", "manager"):
        knock = Knock(route=ROUTES[key], endpoint=ENDPOINTS[key], place="north", caller=caller)
        response, told[caller] = knock.answer(world, clients[caller])
        assert response.status_code == 409
        assert "setback" in {refusal["code"] for refusal in response.json()["refusals"]}

    assert "FeaturemarkNorth house" in told["manager"]
    assert "Featuremark" not in told["application"]


def test_the_marks_are_where_managers_read_them(world, clients):
    """Marks that stood nowhere would prove nothing."""
    read = "\n".join(
        knock.answer(world, clients["manager"])[1] for knock in _reads(world, "manager")
    )

    for word in (
        "Tagnumber",
        "Usedtag",
        "Sample",
        "Checknumber",
        "Buck",
        "Gatecode",
        "Medical",
        "Neighbour",
        "Emergencywhy",
    ):
        assert f"{word}markNorth" in read, word
    for word in ("Featurenote", "Scrape", "Camera", "Buck", "Sitnote", "Person", "Errand"):
        assert f"{word}markNorth" in read, word
    assert CONTACT in read
    assert "papermark_north" in read


def _reads(world: World, caller: str) -> Iterator[Knock]:
    """Every GET about what the caller sees; what they do not see is not found elsewhere."""
    for key, endpoint in ENDPOINTS.items():
        if not key.startswith("GET"):
            continue
        for knock in knocks(ROUTES[key], endpoint, world):
            if not knock.kind or KINDS[knock.kind].seen_by(caller, knock.place):
                yield replace(knock, caller=caller)

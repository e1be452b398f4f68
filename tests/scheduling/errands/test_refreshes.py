"""A refresh that was done is on the scrape's record with its scent: both or neither."""

import pytest

from coop.access.actors import system_actor
from scheduling.errands.models import Errand, ErrandKind, ErrandState
from scheduling.errands.opening_services import open_errand
from scrapes.care.models import ScentApplication
from scrapes.sites.models import Scrape
from tests.cast import NOW

PERMITTED = "synthetic forehead gland"


@pytest.fixture
def scrape(cast) -> Scrape:
    cast.north.settings = {"care": {"permitted_scents": [PERMITTED]}}
    cast.north.save()
    return Scrape.objects.create(
        property=cast.north,
        name="Bench scrape",
        kind="mock",
        longitude=cast.north.longitude,
        latitude=cast.north.latitude,
    )


def finish(cast, scrape, body, kind=ErrandKind.REFRESH_SCENT):
    errand = open_errand(
        actor=system_actor("test"), kind=kind, thing=scrape, reason="Visits fell.", now=NOW
    )
    answer = cast.client(cast.member).post(
        f"/api/v1/errands/{errand.id}/finish/", body, format="json"
    )
    return answer, Errand.objects.get(id=errand.id).state


def test_a_refresh_that_was_done_is_recorded_on_the_scrape(cast, scrape):
    answer, state = finish(cast, scrape, {"scent": PERMITTED.upper(), "note": "Two drops."})

    assert (answer.status_code, state) == (200, ErrandState.DONE)
    applied = ScentApplication.objects.get()
    assert (applied.scrape, applied.scent, applied.notes) == (scrape, PERMITTED, "Two drops.")
    assert applied.applied_by == cast.member


def test_a_refresh_without_its_scent_is_not_done(cast, scrape):
    answer, state = finish(cast, scrape, {"note": "Two drops."})

    assert (answer.status_code, state) == (400, ErrandState.OPEN)
    assert "scent" in str(answer.data["errors"])
    assert not ScentApplication.objects.exists()


def test_a_scent_that_is_not_permitted_leaves_the_errand_open(cast, scrape):
    answer, state = finish(cast, scrape, {"scent": "doe urine"})

    assert (answer.status_code, state) == (409, ErrandState.OPEN)
    assert answer.data["refusals"][0]["code"] == "scent_not_permitted"
    assert not ScentApplication.objects.exists()


def test_only_a_refresh_names_a_scent(cast, scrape):
    answer, state = finish(cast, scrape, {"scent": PERMITTED}, kind=ErrandKind.REPAIR_SCRAPE)

    assert (answer.status_code, state) == (400, ErrandState.OPEN)
    assert not ScentApplication.objects.exists()


def test_when_scent_was_last_put_on_is_told_by_the_clock_of_the_property(cast, scrape):
    errand = open_errand(
        actor=system_actor("test"),
        kind=ErrandKind.REFRESH_SCENT,
        thing=scrape,
        reason="Visits fell.",
        facts={"scent": {"applied_at": "2025-10-29T21:30:00+00:00", "scent": PERMITTED}},
        now=NOW,
    )
    client = cast.client(cast.manager)
    told = [
        client.get("/api/v1/errands/").json()["results"][0],
        client.get(f"/api/v1/errands/{errand.id}/").json(),
    ]

    for each in told:
        assert each["facts"]["scent"] == {
            "applied_at": "2025-10-29T16:30:00-05:00",
            "scent": PERMITTED,
        }

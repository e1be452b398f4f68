"""What regulations and the lease say of scent, feed and minerals holds for whoever puts it out."""

from datetime import timedelta

import pytest

from scrapes.care.history import care_history
from scrapes.care.models import ScentApplication
from scrapes.care.queries import refresh_effects
from scrapes.care.services import apply_scent
from tests.cast import NOW
from tests.properties.leases.plots import leased
from tests.properties.regulations.entries import entered
from tests.scrapes.sites.places import make_scrape

PATH = "/api/v1/scent-applications/"


def posted(cast, scrape, **body):
    return cast.client(cast.manager).post(PATH, {"scrape": scrape.id, **body}, format="json")


def test_a_scent_that_regulation_does_not_name_is_refused_though_the_settings_permit_it(cast):
    cast.north.settings = {"care": {"permitted_scents": ["gland", "doe urine"]}}
    cast.north.save()
    scrape = make_scrape(cast.north)
    entered(cast, "scents", {"names": ["Gland"]})

    refused = posted(cast, scrape, scent="doe urine")

    assert (refused.status_code, refused.data["refusals"][0]["code"]) == (
        409,
        "scent_not_permitted",
    )
    assert posted(cast, scrape, scent="gland").status_code == 201
    told = cast.client(cast.member).get(f"{PATH}permitted/?property={cast.north.id}").data
    assert told["scents"] == ["Gland"]


def test_a_scent_that_the_lease_does_not_name_is_refused(cast):
    cast.north.settings = {"care": {"permitted_scents": ["gland", "doe urine"]}}
    cast.north.save()
    leased(cast, scents=["gland"], last_on=NOW.date() + timedelta(days=9_000))

    answer = posted(cast, make_scrape(cast.north), scent="doe urine")

    assert answer.status_code == 409
    assert answer.data["refusals"][0]["facts"]["permitted"] == ["gland"]


@pytest.mark.parametrize("substance", ["feed", "minerals"])
def test_feed_and_minerals_are_refused_by_code_until_they_are_permitted(cast, substance):
    scrape = make_scrape(cast.north)

    refused = posted(cast, scrape, scent="shelled corn", substance=substance)
    entered(cast, substance, {"permitted": True})
    made = posted(cast, scrape, scent="shelled corn", substance=substance)
    leased(cast, feed=False, last_on=NOW.date() + timedelta(days=9_000))
    again = posted(cast, scrape, scent="shelled corn", substance=substance)

    code = f"{substance}_not_permitted"
    assert [answer.status_code for answer in (refused, made, again)] == [409, 201, 409]
    assert refused.data["refusals"][0]["code"] == again.data["refusals"][0]["code"] == code
    assert made.data["substance"] == substance


def test_the_day_on_which_it_was_put_out_counts(cast):
    cast.north.settings = {"care": {"permitted_scents": ["gland"]}}
    cast.north.save()
    land = type(cast.north).objects.get(id=cast.north.id)
    entered(cast, "scents", {"names": []}, first_on=NOW.date())

    row = apply_scent(
        actor=cast.actor(cast.manager),
        scrape=make_scrape(land),
        scent="gland",
        applied_at=NOW - timedelta(days=1),
        now=NOW,
    )

    assert row.scent == "gland"


def test_feed_is_no_refresh(cast):
    scrape = make_scrape(cast.north)
    for days_ago, substance in ((3, "scent"), (1, "feed")):
        ScentApplication.objects.create(
            scrape=scrape,
            applied_at=NOW - timedelta(days=days_ago),
            scent=substance,
            substance=substance,
        )

    history = care_history(cast.north, since=NOW - timedelta(days=9), now=NOW)

    assert history.latest(scrape.id).scent == "scent"
    assert len(history.applications[scrape.id]) == 2
    assert "feed" not in refresh_effects(cast.north, now=NOW).by_scent

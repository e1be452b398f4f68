"""Nobody is sent to refresh a scrape where regulations or the lease permit no scent."""

import pytest

from coop.access.actors import system_actor
from coop.api.problems import Refused
from scheduling.errands.jobs import open_for_review
from scheduling.errands.models import Errand, ErrandKind
from scheduling.errands.opening_services import open_errand
from scrapes.care.models import ScrapeReview
from tests.cast import NOW
from tests.properties.leases.plots import leased
from tests.properties.regulations.entries import entered
from tests.scrapes.sites.places import make_scrape


@pytest.fixture
def scrape(cast):
    return make_scrape(cast.north)


def opened(scrape, kind=ErrandKind.REFRESH_SCENT):
    return open_errand(
        actor=system_actor("test"), kind=kind, thing=scrape, reason="Visits fell.", now=NOW
    )


def test_a_property_without_lease_or_regulation_is_left_as_it_is(scrape):
    assert opened(scrape).state == "open"


def test_a_lease_that_permits_no_scent_refuses_the_refresh_and_no_other_errand(cast, scrape):
    leased(cast, scents=[])

    with pytest.raises(Refused) as caught:
        opened(scrape)

    (refusal,) = caught.value.members["refusals"]
    assert (refusal["code"], refusal["overrulable"]) == ("scent_not_permitted", False)
    assert opened(scrape, ErrandKind.REPAIR_SCRAPE).state == "open"


def test_the_refusal_is_a_409_over_http(cast, scrape):
    entered(cast, "scents", {"names": []})

    answer = cast.client(cast.manager).post(
        "/api/v1/errands/",
        {"kind": "refresh_scent", "scrape": str(scrape.id), "reason": "Visits fell."},
        format="json",
    )

    # The value began before today, and has no end.
    assert answer.status_code == 409
    assert answer.data["refusals"][0]["code"] == "scent_not_permitted"
    assert not Errand.objects.exists()


@pytest.mark.parametrize("forbidden", [True, False])
def test_a_review_sends_nobody_for_what_is_forbidden(cast, scrape, forbidden):
    if forbidden:
        leased(cast, scents=[])
    review = ScrapeReview.objects.create(
        scrape=scrape, reviewed_on=NOW.date(), verdict="refresh", sentence="Visits fell."
    )

    open_for_review({"review": str(review.id)}, NOW)

    assert Errand.objects.exists() is not forbidden

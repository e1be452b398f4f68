"""Harvest does not say which buck it was: a review says so and claims nothing."""

from datetime import timedelta

import pytest

from coop.access.actors import system_actor
from scheduling.sits.models import Harvest, Sit, SitSpan
from scrapes.care import services
from scrapes.care.models import ScrapeReview
from tests.cast import NOW, make_stand
from tests.scrapes.seasons import declining, steady, without_a_season

UNKNOWN = "whether it came to this scrape is not known"


@pytest.fixture
def hung(cast):
    without_a_season(cast.north)
    steady(cast.north, "Bench", east=0.004)
    steady(cast.north, "Saddle", north=0.004)
    return declining(cast.north, "Oak")


def take(cast, *, away_deg=0.001, days_ago=10, harvest_class="antlered"):
    stand = make_stand(cast.north, "Ridge", longitude=cast.north.longitude + away_deg)
    taken_at = NOW - timedelta(days=days_ago)
    sit = Sit.objects.create(
        property=cast.north,
        stand=stand,
        person=cast.member,
        local_date=taken_at.date(),
        span=SitSpan.MORNING,
        starts_at=taken_at - timedelta(hours=1),
        ends_at=taken_at + timedelta(hours=1),
    )
    Harvest.objects.create(
        property=cast.north,
        sit=sit,
        person=cast.member,
        harvest_class=harvest_class,
        taken_at=taken_at,
    )


def reviewed(cast, hung):
    services.review_property(actor=system_actor("test"), land=cast.north, now=NOW)
    return ScrapeReview.objects.get(scrape=hung.scrape)


def answer_about_bucks(found):
    (answer,) = (one for one in found.figures["answers"] if one["code"] == "buck_taken")
    return answer


def test_a_buck_taken_near_by_is_told_and_not_claimed(cast, hung):
    take(cast)

    found = reviewed(cast, hung)

    assert found.verdict == "refresh"
    assert UNKNOWN in found.sentence
    assert answer_about_bucks(found)["holds"] is None


@pytest.mark.parametrize(
    "other",
    [{"harvest_class": "antlerless"}, {"away_deg": 0.009}, {"days_ago": 60}],
    ids=["a doe", "far off", "before the window"],
)
def test_what_cannot_have_been_missed_here_is_not_told(cast, hung, other):
    take(cast, **other)

    found = reviewed(cast, hung)

    assert "antlered" not in found.sentence
    assert answer_about_bucks(found)["holds"] is False


def test_a_buck_taken_nobody_said_where_may_have_come_here(cast, hung):
    Harvest.objects.create(
        property=cast.north,
        person=cast.member,
        harvest_class="antlered",
        taken_at=NOW - timedelta(days=10),
    )

    assert UNKNOWN in reviewed(cast, hung).sentence

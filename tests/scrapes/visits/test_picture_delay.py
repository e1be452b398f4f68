"""Members see what cameras saw later, where regulations ask for it; who sorts pictures at once."""

from datetime import date, datetime, timedelta

import pytest
import time_machine

from scrapes.care.models import ScrapeReview
from tests.cast import NOW
from tests.properties.regulations.entries import entered
from tests.scrapes.seasons import observe, other_animals, watched_scrape

ANY = {"first_on": date(2025, 10, 20), "last_on": NOW.date()}


@pytest.fixture
def scrape(north):
    hung = watched_scrape(north, "Oak")
    # Four and two days ago, and six hours ago.
    for hours in (96, 48, 6):
        observe(hung, [NOW - timedelta(hours=hours)])
    other_animals(hung)
    return hung.scrape


def told(cast, who, scrape):
    client = cast.client(getattr(cast, who))
    with time_machine.travel(NOW, tick=False):
        listed = client.get("/api/v1/visits/", {"property": scrape.property_id, **ANY})
        one = client.get(f"/api/v1/visits/{scrape.id}/", ANY)
        table = client.get("/api/v1/visits/export/", {"property": scrape.property_id, **ANY})
    assert {answer.status_code for answer in (listed, one, table)} == {200}
    counts = {
        listed.data[0]["rate"]["visits"],
        one.data["rate"]["visits"],
        len(table.content.decode().splitlines()) - 1,
    }
    (count,) = counts
    return count, datetime.fromisoformat(listed.data[0]["seen_until"])


def test_without_a_delay_everybody_sees_everything(cast, scrape):
    assert told(cast, "member", scrape) == (3, NOW)
    assert told(cast, "manager", scrape) == (3, NOW)


@pytest.mark.parametrize(("hours", "visits"), [(5, 3), (7, 2), (72, 1), (120, 0)])
def test_members_see_what_is_older_than_the_delay(cast, scrape, hours, visits):
    entered(cast, "picture_delay", {"hours": hours})

    assert told(cast, "member", scrape) == (visits, NOW - timedelta(hours=hours))
    assert told(cast, "manager", scrape) == (3, NOW)


def test_a_delay_that_has_ended_delays_nothing(cast, scrape):
    entered(cast, "picture_delay", {"hours": 72}, last_on=NOW.date() - timedelta(days=1))

    assert told(cast, "member", scrape) == (3, NOW)


def test_reviews_of_those_days_are_told_later_too(cast, scrape):
    today = NOW.date()
    for days_ago in range(4):
        ScrapeReview.objects.create(
            scrape=scrape,
            reviewed_on=today - timedelta(days=days_ago),
            verdict="steady",
            sentence="Steady.",
        )
    entered(cast, "picture_delay", {"hours": 24})

    def days(who):
        client = cast.client(getattr(cast, who))
        with time_machine.travel(NOW, tick=False):
            rows = client.get("/api/v1/scrape-reviews/").data["results"]
        return {(today - date.fromisoformat(row["reviewed_on"])).days for row in rows}

    assert days("manager") == {0, 1, 2, 3}
    # Yesterday's review was made anew until yesterday's end.
    assert days("member") == {2, 3}

"""Visits against expected, and wind beside sits: the managers' appendix."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from coop.reports import appendix_sentences
from coop.reports.figures import month_figures
from coop.reports.gather import gather
from coop.reports.queries import settings_in_force
from coop.reports.rows import WindRows
from scrapes.cameras.models import Outage
from scrapes.visits.queries import property_month_visits
from scrapes.visits.rates import poisson_limits
from tests.coop.reports.months import AFTER, OCTOBER, local
from tests.coop.reports.plain_rows import SETTINGS, count, month_rows, scrape, sit


def appendix(**changes):
    return month_figures(month_rows(**changes), SETTINGS).appendix


def scrapes_of(land, *, now=AFTER):
    land.refresh_from_db()
    rows = gather(land=land, month=OCTOBER, now=now, settings=settings_in_force(land, now=AFTER))
    return {one.name: one for one in rows.scrapes}


def test_the_report_and_the_scrapes_own_review_agree_on_what_was_expected(rich):
    reviewed = property_month_visits(rich.land, month=OCTOBER, now=AFTER)
    reported = scrapes_of(rich.land)

    assert [one.name for one in reviewed] == list(reported)
    for one in reviewed:
        told = reported[one.name]
        assert told.whole.visits == one.rate.visits
        assert told.whole.camera_nights == pytest.approx(one.rate.camera_nights, abs=0.01)
        assert (told.expected_low, told.expected_high) == (one.expected_low, one.expected_high)
        if one.expected is None:
            assert told.whole.expected is None
        else:
            assert told.whole.expected == pytest.approx(one.expected, abs=0.01)
    assert reported["North plot scrape"].whole.visits > 0


def test_a_count_comes_with_its_exact_limits(rich):
    one = scrapes_of(rich.land)["Pond scrape"].whole
    low, high = poisson_limits(one.visits, confidence=0.95)

    assert (one.low, one.high) == (round(float(low), 2), round(float(high), 2))


def test_a_scrape_that_no_camera_watched_has_no_expectation_and_says_so(rich):
    one = scrapes_of(rich.land)["Unwatched scrape"]

    assert one.whole.expected is None
    assert (
        appendix_sentences.scrape_line(one)
        == "Unwatched scrape was not watched by a working camera."
    )


def test_an_outage_is_no_absence_of_deer(rich):
    whole = scrapes_of(rich.land)["Pond scrape"].whole
    Outage.objects.create(
        deployment=rich.scrapes[1].deployments.get(),
        kind="dead",
        starts_at=local(date(2025, 10, 11), 0),
        ends_at=local(date(2025, 10, 21), 0),
    )
    broken = scrapes_of(rich.land)["Pond scrape"].whole

    assert whole.camera_nights - broken.camera_nights == pytest.approx(10, abs=0.01)
    assert 0 < broken.expected < whole.expected


def test_scent_parts_the_month_and_the_parts_add_up(rich):
    one = scrapes_of(rich.land)["North plot scrape"]

    assert one.scent_on == date(2025, 10, 16)
    assert one.before.visits + one.since.visits == one.whole.visits
    assert one.before.expected + one.since.expected == pytest.approx(one.whole.expected, abs=0.02)


def test_a_month_that_runs_expects_nothing_of_nights_to_come(rich):
    now = datetime(2025, 10, 11, 5, 0, tzinfo=UTC)
    one = scrapes_of(rich.land, now=now)["Pond scrape"]

    assert one.whole.camera_nights <= 10
    assert one.whole.expected < scrapes_of(rich.land)["Pond scrape"].whole.expected


def test_a_scrape_is_told_in_the_order_of_its_month():
    line = appendix_sentences.scrape_line(
        scrape(
            scent_on=date(2025, 10, 16),
            before=count(2, 16.5, 11.2),
            since=count(9, 15.5, 8.4),
            untagged_stays=2,
        )
    )

    assert line == (
        "Visits at North plot scrape were 2 in 16 camera-nights against 11 expected; scent was "
        "last refreshed on Oct 16; since then 9 in 16 camera-nights against 8 expected. Nobody "
        "has looked at the pictures of 2 stays yet; they are not counted."
    )


def test_sentences_about_scrapes_claim_no_cause():
    one = scrape(scent_on=date(2025, 10, 16), before=count(2), since=count(9))
    line = appendix_sentences.scrape_line(one).lower()

    for word in ("because", "due to", "thanks", "worked", "caused", "result", "improved"):
        assert word not in line


def test_wind_is_counted_beside_the_sits_in_it():
    hours = WindRows(
        source="station",
        wind_from_deg=np.array([0.0, 270.0, 272.0, np.nan, np.nan]),
        speed_mps=np.array([2.0, 4.0, 9.0, 0.0, np.nan]),
        variable=np.zeros(5, bool),
    )
    wind = appendix(
        wind=hours,
        sits=(
            sit("Ann", date(2025, 10, 3), observed_sector=6),
            sit("Ben", date(2025, 10, 4), observed_sector=6),
            sit("Cal", date(2025, 10, 5)),
            sit("Dee", date(2025, 10, 6), observed_sector=6, state="booked"),
        ),
    ).wind

    by_sector = dict(zip(wind.sectors, map(sum, wind.hours), strict=True))
    assert (by_sector["N"], by_sector["W"]) == (1, 2)
    assert (wind.calm_hours, wind.unknown_hours) == (1, 1)
    assert dict(zip(wind.sectors, wind.sits, strict=True))["W"] == 2
    assert wind.sits_without_observed_wind == 1

"""Visits against expected, and wind beside sits: the managers' appendix."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from coop.reports import sentences
from coop.reports.figures import month_figures
from coop.reports.rows import ScrapeRow, WindRows
from scrapes.visits.effort import Deployment, Outage
from tests.coop.reports.months import local
from tests.coop.reports.plain_rows import SETTINGS, month_rows, pictures, sit

HUNG = local(date(2025, 9, 1), 12)
READ = local(date(2025, 11, 1), 1)


def seconds(instant):
    return int(instant.timestamp())


def scrape(name="North plot scrape", **changes):
    values = {
        "deployments": (
            Deployment(camera="a", start_s=seconds(HUNG), end_s=None, known_up_to_s=seconds(READ)),
        ),
        "outages": (),
        "scent_s": (),
    }
    return ScrapeRow(name=name, **{**values, **changes})


def visits_at(days, *, code=0):
    return [(code, local(date(2025, 10, day), 20)) for day in days]


def appendix(**changes):
    return month_figures(month_rows(**changes), SETTINGS).appendix


def test_visits_of_the_month_come_with_exact_limits_and_working_nights():
    (one,) = appendix(scrapes=(scrape(),), pictures=pictures(1, visits_at(range(1, 11)))).scrapes

    assert one.whole.visits == 10
    assert one.whole.camera_nights == 31
    # Garwood 1936, from the chi-square quantiles: 4.7954 and 18.3904 for a count of 10.
    assert (one.whole.low, one.whole.high) == (4.8, 18.39)
    assert one.whole.expected > 0


def test_an_outage_is_no_absence_of_deer():
    out = Outage(
        camera="a",
        start_s=seconds(local(date(2025, 10, 11), 0)),
        end_s=seconds(local(date(2025, 10, 21), 0)),
    )
    (whole,) = appendix(scrapes=(scrape(),), pictures=pictures(1)).scrapes
    (broken,) = appendix(scrapes=(scrape(outages=(out,)),), pictures=pictures(1)).scrapes

    assert broken.whole.camera_nights == 21
    assert 0 < broken.whole.expected < whole.whole.expected


def test_a_scrape_that_no_camera_watched_has_no_expectation_and_says_so():
    (one,) = appendix(scrapes=(scrape(deployments=()),), pictures=pictures(1)).scrapes

    assert one.whole.expected is None
    assert sentences.scrape_line(one) == ("North plot scrape was not watched by a working camera.")


def test_a_card_nobody_pulled_tells_only_up_to_its_last_picture():
    card = Deployment(
        camera="a",
        start_s=seconds(HUNG),
        end_s=None,
        known_up_to_s=seconds(local(date(2025, 10, 11), 0)),
    )
    (one,) = appendix(scrapes=(scrape(deployments=(card,)),), pictures=pictures(1)).scrapes

    assert one.whole.camera_nights == 10


def test_scent_parts_the_month_and_the_parts_add_up():
    applied = seconds(local(date(2025, 10, 16), 12))
    (one,) = appendix(
        scrapes=(scrape(scent_s=(seconds(local(date(2025, 9, 5), 9)), applied)),),
        pictures=pictures(1, visits_at([3, 9, 16, 20, 21, 22]), untagged=[2]),
    ).scrapes

    assert one.scent_on == date(2025, 10, 16)
    assert (one.before.visits, one.since.visits) == (2, 4)
    assert one.before.expected + one.since.expected == pytest.approx(one.whole.expected, abs=0.02)
    line = sentences.scrape_line(one)
    assert "2 in 16 camera-nights" in line
    assert "scent was last refreshed on Oct 16; since then 4 in 16 camera-nights" in line
    assert "2 pictures are not looked at yet and not counted" in line


def test_sentences_about_scrapes_claim_no_cause():
    applied = seconds(local(date(2025, 10, 16), 12))
    (one,) = appendix(scrapes=(scrape(scent_s=(applied,)),), pictures=pictures(1)).scrapes
    line = sentences.scrape_line(one).lower()

    for word in ("because", "due to", "thanks", "worked", "caused", "result", "improved"):
        assert word not in line


def test_a_scrape_expects_what_its_own_record_taught():
    busy_past = [
        (0, HUNG + timedelta(days=day, hours=4 + 2 * visit))
        for day in range(29)
        for visit in range(3)
    ]
    (quiet,) = appendix(scrapes=(scrape(),), pictures=pictures(1)).scrapes
    (busy,) = appendix(scrapes=(scrape(),), pictures=pictures(1, busy_past)).scrapes

    assert busy.whole.expected > 3 * quiet.whole.expected


def test_pictures_of_one_stay_are_one_visit():
    stay = local(date(2025, 10, 5), 20)
    burst = [(0, stay + timedelta(minutes=minutes)) for minutes in (0, 10, 25, 50, 120)]
    (one,) = appendix(scrapes=(scrape(),), pictures=pictures(1, burst)).scrapes

    assert one.whole.visits == 2


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


def test_a_month_that_runs_expects_nothing_of_nights_to_come():
    rows = month_rows(scrapes=(scrape(),), pictures=pictures(1))
    running = replace(rows, now=datetime(2025, 10, 11, 5, 0, tzinfo=UTC))
    (one,) = month_figures(running, SETTINGS).appendix.scrapes

    assert one.whole.camera_nights == 10

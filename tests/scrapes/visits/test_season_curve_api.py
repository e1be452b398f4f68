"""The cooperative's own visits bend the curve of practice, once there are enough of them."""

from datetime import timedelta
from io import StringIO

import numpy as np
import pytest
from django.core.management import call_command

from coop.access.actors import system_actor
from coop.jobs import services as jobs
from scrapes.care.models import ScrapeReview
from scrapes.care.services import review_property
from scrapes.visits.models import SeasonFit
from scrapes.visits.queries import scrape_visits
from scrapes.visits.season_curve import relative_use
from scrapes.visits.season_curve_jobs import FIT_SEASON, fits_due
from scrapes.visits.season_curve_queries import season_in_force
from scrapes.visits.season_curve_services import fit_cooperatives_season
from scrapes.visits.settings import SeasonSettings
from tests.cast import NOW
from tests.scrapes.seasons import observe, pull_card
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

PATH = "/api/v1/season-curves/"
SYSTEM = system_actor("test")
# Use is highest 28 days before the peak of breeding, where practice has it 14 days before.
EARLY = SeasonSettings(lead_days=28)
SINCE_PEAK = 42
TODAY = NOW.date()
FIRST = 150


def seasonal(land, name, *, seed, per_night=6.0, truth=EARLY, **place):
    """A scrape watched for 150 nights and visited as ``truth`` says, seeded."""
    scrape = make_scrape(land, name, **place)
    camera = make_camera(land, f"Camera {name}")
    hung = make_deployment(camera, scrape, starts_at=NOW - timedelta(days=FIRST))
    rng = np.random.default_rng(seed)
    nights = np.arange(FIRST, 0, -1)
    visits = rng.poisson(per_night * relative_use(SINCE_PEAK - nights, settings=truth))
    ago = np.repeat(nights, visits) - rng.uniform(0, 1, visits.sum())
    observe(hung, [NOW - timedelta(days=float(days)) for days in np.sort(ago)[::-1]])
    pull_card(camera)
    return hung


def review_figures(cast):
    review_property(actor=SYSTEM, land=cast.north, now=NOW)
    return ScrapeReview.objects.order_by("scrape__name").first().figures


@pytest.fixture(autouse=True)
def _breeding_has_peaked(cast):
    cast.north.peak_of_breeding = f"{TODAY - timedelta(days=SINCE_PEAK):%m-%d}"
    cast.north.save()


@pytest.fixture
def visited(cast):
    return [
        seasonal(cast.north, f"Scrape {number}", seed=number, east=0.004 * number)
        for number in range(4)
    ]


def fit(cast, now=NOW):
    return fit_cooperatives_season(actor=SYSTEM, cooperative=cast.cooperative, now=now)


def figure(row, name):
    return next(one for one in row.figures if one["name"] == name)


def test_before_any_fit_the_curve_of_practice_stands_and_says_so(cast):
    answer = cast.client(cast.member).get(PATH, {"property": cast.north.id}).data

    assert (answer["in_force"], answer["fit"]) == ("as_set", None)
    assert "Nothing was fitted" in answer["sentence"]
    at_height = next(day for day in answer["curve"] if day["day"] == -14)
    assert at_height["as_set"] == pytest.approx(1)
    assert at_height["fitted"] is None


def test_visits_that_come_early_move_the_lead_and_what_is_expected(cast, visited):
    dates = {"first_on": TODAY - timedelta(days=60), "last_on": TODAY - timedelta(days=45)}
    practice = scrape_visits(cast.north, **dates, now=NOW)

    row = fit(cast)

    lead = figure(row, "lead_days")
    assert row.is_enough
    assert lead["setting"] == 14
    assert lead["low"] <= EARLY.lead_days <= lead["high"]
    assert season_in_force(cast.north, known_on=TODAY).curve.lead_days == pytest.approx(
        lead["value"]
    )
    # From 18 days before the peak on practice expects the height; here it has gone by.
    learned = scrape_visits(cast.north, **dates, now=NOW)
    for before, after in zip(practice, learned, strict=True):
        assert after.expected < 0.7 * before.expected
        assert abs(after.rate.visits - after.expected) < abs(before.rate.visits - before.expected)


def test_the_endpoint_shows_the_fit_with_its_limits_beside_the_data(cast, visited):
    fit(cast)

    answer = cast.client(cast.member).get(PATH, {"property": cast.north.id}).data

    assert answer["in_force"] == "fitted"
    assert all(day["low"] <= day["fitted"] <= day["high"] for day in answer["curve"])
    weeks = answer["fit"]["weeks"]
    assert sum(week["visits"] for week in weeks) == answer["fit"]["visits"]
    assert sum(week["camera_nights"] for week in weeks) == pytest.approx(
        answer["fit"]["camera_nights"]
    )
    curve = {day["day"]: day for day in answer["curve"]}
    inside = [
        week["low"] <= curve[week["first_day"] + 3]["fitted"] <= week["high"]
        for week in weeks
        if week["use"] is not None and week["camera_nights"] > 20
    ]
    assert len(inside) > 10
    assert np.mean(inside) > 0.7


def test_the_nights_that_may_be_under_judgement_teach_nothing(cast, visited):
    first = fit(cast)
    for hung in visited:
        lately = hung.observations.filter(observed_at__gte=NOW - timedelta(days=41))
        assert lately.update(species="squirrel") > 0

    again = fit(cast)

    assert again.id == first.id
    assert again.last_on == TODAY - timedelta(days=42)
    assert again.figures == first.figures


def test_too_few_visits_are_shown_and_change_nothing(cast):
    seasonal(cast.north, "Lone", seed=7, per_night=1.0)

    row = fit(cast)

    assert not row.is_enough
    assert season_in_force(cast.north, known_on=TODAY).curve == SeasonSettings()
    answer = cast.client(cast.member).get(PATH, {"property": cast.north.id}).data
    assert answer["in_force"] == "as_set"
    assert "too few" in answer["sentence"]


def test_what_was_fitted_later_was_not_known_before(cast, visited):
    fit(cast)
    yesterday = TODAY - timedelta(days=1)

    assert season_in_force(cast.north, known_on=yesterday).curve == SeasonSettings()
    assert season_in_force(cast.north, known_on=TODAY).curve != SeasonSettings()


def test_a_property_with_a_curve_of_its_own_keeps_it(cast, visited):
    fit(cast)
    cast.north.settings = {"season_curve": {"lead_days": 3}}
    cast.north.save()

    assert season_in_force(cast.north, known_on=TODAY).curve.lead_days == 3
    answer = cast.client(cast.manager).get(PATH, {"property": cast.north.id}).data
    assert answer["in_force"] == "as_set"
    assert "keeps the curve" in answer["sentence"]


def test_a_review_allows_for_not_knowing_the_fitted_curve(cast, visited):
    plain = review_figures(cast)

    fit(cast)

    assert plain["curve_variance"] == 0
    # The fit has seen the climb and not the second burst, in which the window lies.
    assert 0.05 < review_figures(cast)["curve_variance"] < 1


def test_a_camera_turned_is_another_row_so_that_its_level_bends_nothing(cast, visited):
    """Half of the visits from the day the camera was turned: no fall of the season."""
    plain = figure(fit(cast), "lead_days")["value"]
    turned_at = NOW - timedelta(days=100)
    for hung in visited:
        later = hung.observations.filter(observed_at__gte=turned_at).order_by("observed_at")
        halved = list(later.values_list("id", flat=True))[::2]
        hung.observations.filter(id__in=halved).delete()
        hung.ends_at = turned_at
        hung.heading_deg = 10
        hung.save()
        again = make_deployment(hung.camera, hung.scrape, starts_at=turned_at, heading_deg=120)
        hung.observations.filter(observed_at__gte=turned_at).update(deployment=again)

    row = fit(cast)

    assert row.scrapes == 4
    assert figure(row, "lead_days")["value"] == pytest.approx(plain, abs=6)


def test_it_is_fitted_once_a_week_and_the_job_tells_what_came_of_it(cast, visited):
    sunday, monday = NOW + timedelta(days=1), NOW + timedelta(days=2)
    assert {one.period for one in fits_due(sunday)} == {"2025-W44"}
    assert list(fits_due(monday.replace(hour=11))) == []
    assert {one.period for one in fits_due(monday)} == {"2025-W45"}

    run = jobs.enqueue(
        name=FIT_SEASON, now=NOW, parameters={"cooperative": str(cast.cooperative.id)}
    )
    finished = jobs.run_job(run_id=run.id, now=NOW)

    assert finished.state == "done", finished.error
    assert finished.result["is_enough"] is True
    assert finished.result["scrapes"] == 4


def test_a_manager_starts_a_fit_and_a_member_may_not(cast):
    body = {"property": cast.north.id}

    answer = cast.client(cast.manager).post(f"{PATH}fit/", body)

    assert answer.status_code == 202
    assert cast.client(cast.member).post(f"{PATH}fit/", body).status_code == 403


def test_strangers_learn_nothing(cast, visited):
    fit(cast)
    assert cast.client(cast.stranger).get(PATH, {"property": cast.north.id}).status_code == 400
    assert cast.client(cast.landowner).get(PATH, {"property": cast.north.id}).status_code == 403


def test_the_command_ends_with_a_reconciliation(cast):
    make_scrape(cast.north)
    out = StringIO()

    call_command("fitseason", stdout=out)

    assert "2 cooperatives = 0 expected + 1 too few + 1 nothing." in out.getvalue()
    assert SeasonFit.objects.count() == 1

"""Visits over HTTP: figures from stored pictures, and who sees how much of them."""

from datetime import timedelta

import pytest

from properties.land.models import Property
from scrapes.cameras.models import Outage
from scrapes.visits.queries import property_month_visits, scrape_visits
from scrapes.visits.rates import poisson_limits
from tests.cast import NOW, make_property
from tests.scrapes.seasons import (
    evenly,
    observe,
    other_animals,
    pull_card,
    steady,
    watched_scrape,
)
from tests.scrapes.sites.places import make_camera, make_deployment

TODAY = NOW.date()
ANY = {"first_on": TODAY - timedelta(days=9), "last_on": TODAY - timedelta(days=1)}


def figures(land, **dates):
    (one,) = scrape_visits(land, **{**ANY, **dates}, now=NOW)
    return one


def listed(client, land, **parameters):
    return client.get("/api/v1/visits/", {"property": land.id, **parameters})


def test_visits_effort_and_rate_with_exact_limits(north):
    steady(north, "Oak")

    one = figures(north)

    assert one.rate.camera_nights == pytest.approx(9)
    assert one.rate.visits == sum(night.visits for night in one.nights) == pytest.approx(18, abs=2)
    low, high = poisson_limits(one.rate.visits)
    assert one.rate.low_per_100 == pytest.approx(float(low) * 100 / 9)
    assert one.rate.high_per_100 == pytest.approx(float(high) * 100 / 9)
    assert one.expected == pytest.approx(18, rel=0.1)
    assert one.expected_low < one.rate.visits < one.expected_high


def test_two_cameras_at_one_scrape_watch_it_once(north):
    hung = steady(north, "Oak")
    second = make_camera(north, "Second")
    other = make_deployment(second, hung.scrape, starts_at=hung.starts_at)
    pull_card(second)
    observe(other, evenly(2.0))
    other_animals(other)

    one = figures(north)

    assert one.rate.camera_nights == pytest.approx(9)
    assert one.rate.visits == pytest.approx(18, abs=2)


def test_what_fell_into_an_outage_is_no_part_of_visits_or_effort(north):
    hung = steady(north, "Oak")
    whole = figures(north)
    Outage.objects.create(
        deployment=hung,
        kind="full",
        starts_at=NOW - timedelta(days=4),
        ends_at=NOW - timedelta(days=2),
    )

    one = figures(north)

    assert one.rate.camera_nights == pytest.approx(7)
    assert one.rate.visits == whole.rate.visits - 4


def test_what_nobody_watched_has_no_rate_and_nothing_expected(north, cast):
    hung = watched_scrape(north, "Oak")
    hung.delete()

    one = listed(cast.client(cast.manager), north).data[0]

    assert one["expected"] is None
    assert one["rate"] == {
        "visits": 0,
        "camera_nights": 0.0,
        "per_100": None,
        "low_per_100": None,
        "high_per_100": None,
        "confidence": 0.95,
    }


def test_species_that_pass_together_are_visits_of_their_own(north):
    hung = watched_scrape(north, "Oak")
    at = NOW - timedelta(days=5)
    observe(hung, [at], species="Odocoileus virginianus")
    observe(hung, [at + timedelta(minutes=4)], species="deer")
    observe(hung, [at + timedelta(minutes=5)], species="Mule deer")
    observe(hung, [at + timedelta(hours=6)], species="odocoileus hemionus")
    other_animals(hung)

    one = figures(north)

    assert one.rate.visits == 3
    assert dict(one.by_species) == {"white-tailed deer": 1, "mule deer": 2}


def test_a_property_says_which_species_a_bare_deer_is(north):
    species = {"mule deer": ["", "deer"], "elk": []}
    north.settings = {**north.settings, "visits": {"deer_species": species}}
    north.save()
    hung = watched_scrape(north, "Oak")
    at = NOW - timedelta(days=5)
    observe(hung, [at], species="deer")
    observe(hung, [at + timedelta(hours=6)], species="white-tailed deer")
    other_animals(hung)

    assert dict(figures(north).by_species) == {"mule deer": 1}


def test_bucks_does_fawns_and_those_nobody_could_tell(north):
    hung = watched_scrape(north, "Oak")
    at = NOW - timedelta(days=5)
    observe(hung, [at], sex="male", life_stage="adult")
    observe(hung, [at + timedelta(hours=3)], sex="female")
    observe(hung, [at + timedelta(hours=3, minutes=5)], sex="male", life_stage="juvenile")
    observe(hung, [at + timedelta(hours=9)])
    observe(hung, [at + timedelta(hours=12)], species="raccoon")
    other_animals(hung)

    one = figures(north)

    assert one.rate.visits == 3
    assert dict(one.by_class) == {"buck": 1, "doe": 1, "fawn": 1, "unknown": 1}


def test_individuals_are_counted_apart_with_their_first_and_last_visit(north):
    hung = watched_scrape(north, "Oak")
    at = NOW - timedelta(days=5)
    observe(hung, [at, at + timedelta(days=1)], individual="Split ear")
    observe(hung, [at + timedelta(minutes=4)], individual="Wide one")
    other_animals(hung)

    one = figures(north)

    assert [(deer.name, deer.visits) for deer in one.individuals] == [
        ("Split ear", 2),
        ("Wide one", 1),
    ]
    assert one.individuals[0].last_s - one.individuals[0].first_s == 86_400
    assert one.rate.visits == 3


def test_the_share_in_shooting_light_follows_the_propertys_settings(north):
    hung = watched_scrape(north, "Oak")
    # Sunset in the last days of October is near 18:05 there: 40 minutes after is dark.
    dusk = NOW.replace(month=10, day=28, hour=23, minute=45)
    observe(hung, [dusk - timedelta(days=number) for number in range(3)])
    other_animals(hung)
    assert figures(north).light_share == 0

    north.settings = {**north.settings, "sessions": {"shooting_light_after_sunset_min": 60}}
    north.save()
    assert figures(north).light_share == 1


def test_the_expectation_leans_on_the_cooperatives_other_scrapes(north, cast):
    other = make_property(cast.cooperative, "East", -91.40, 43.20)
    for number in range(4):
        steady(other, f"Busy {number}", east=number * 0.002, per_night=4.0)
    hung = watched_scrape(north, "New")
    other_animals(hung)
    hung.starts_at = NOW - timedelta(days=10)
    hung.save()

    assert figures(north).base_rate_per_night == pytest.approx(4, rel=0.1)
    Property.objects.filter(id=other.id).update(retired_at=NOW)
    assert figures(north).base_rate_per_night < 1.5


def test_a_month_is_the_propertys_calendar_month(north):
    steady(north, "Oak")

    (october,) = property_month_visits(north, month=TODAY.replace(month=10, day=5), now=NOW)

    assert (october.first_on.day, october.last_on.day) == (1, 31)
    # The clocks go back on the 2nd of November there: all days of October have 24 hours.
    assert october.rate.camera_nights == pytest.approx(31)


def test_refuses_dates_turned_round(north):
    with pytest.raises(ValueError, match="before the first"):
        scrape_visits(north, first_on=TODAY, last_on=TODAY - timedelta(days=1), now=NOW)


def test_queries_do_not_grow_with_scrapes_and_pictures(north, django_assert_num_queries):
    steady(north, "S0")
    with django_assert_num_queries(8) as few:
        figures(north)
    for number in range(1, 4):
        steady(north, f"S{number}", east=number * 0.002)
    with django_assert_num_queries(len(few)):
        assert len(scrape_visits(north, **ANY, now=NOW)) == 4


class TestOverHTTP:
    @pytest.fixture(autouse=True)
    def _at_the_tests_instant(self, time_machine):
        time_machine.move_to(NOW, tick=False)

    def test_a_manager_reads_each_scrape_with_deer_and_cameras(self, north, cast):
        hung = steady(north, "Oak")
        observe(hung, evenly(0.5), individual="Split ear", sex="male")

        (row,) = listed(cast.client(cast.manager), north).data

        assert row["name"] == "Oak"
        assert row["individuals"][0]["name"] == "Split ear"
        assert row["cameras"][0]["state"] == "working"

    def test_a_member_reads_visits_without_deer_by_name_and_cameras(self, north, cast):
        hung = steady(north, "Oak")
        observe(hung, evenly(0.5), individual="Split ear", sex="male")

        answer = listed(cast.client(cast.member), north)

        assert answer.status_code == 200
        assert answer.data[0]["rate"]["visits"] > 0
        assert answer.data[0]["individuals"] is None
        assert answer.data[0]["cameras"] is None
        assert b"Split ear" not in answer.content

    def test_one_scrape_comes_night_by_night_with_its_hours(self, north, cast):
        hung = steady(north, "Oak")

        answer = cast.client(cast.member).get(f"/api/v1/visits/{hung.scrape.id}/")

        assert len(answer.data["nights"]) == 30
        assert (
            sum(night["visits"] for night in answer.data["nights"])
            == (answer.data["rate"]["visits"])
        )
        assert answer.data["activity"]["sample_size"] == answer.data["rate"]["visits"]
        assert sum(answer.data["activity"]["density_per_hour"]) == pytest.approx(1, abs=0.01)

    def test_who_may_not_read_visits_is_told_no_more_than_of_the_property(self, north, cast):
        hung = steady(north, "Oak")

        assert listed(cast.client(cast.landowner), north).status_code == 403
        assert listed(cast.client(cast.stranger), north).status_code == 400
        assert listed(cast.application_client(), north).status_code == 403
        for person in (cast.landowner, cast.stranger, cast.other_member):
            path = f"/api/v1/visits/{hung.scrape.id}/"
            assert cast.client(person).get(path).status_code == 404

    @pytest.mark.parametrize(
        ("parameters", "pointer"),
        [
            ({"first_on": "2025-13-01"}, "?first_on"),
            ({"last_on": "2025-11-02"}, "?last_on"),
            ({"first_on": "2025-10-20", "last_on": "2025-10-01"}, "?last_on"),
            ({"first_on": "2020-10-20"}, "?last_on"),
            ({"first_on": "1850-01-01"}, "?first_on"),
            ({"last_on": "0001-01-01"}, "?last_on"),
            ({"colour": "red"}, "?colour"),
        ],
    )
    def test_dates_that_cannot_be_are_named(self, north, cast, parameters, pointer):
        answer = listed(cast.client(cast.member), north, **parameters)

        assert answer.status_code == 400
        assert answer.data["errors"][0]["pointer"] == pointer

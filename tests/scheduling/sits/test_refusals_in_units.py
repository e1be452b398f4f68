"""Whoever is refused is told why in the units of their profile; figures stay in SI."""

from datetime import timedelta

import pytest

from coop.api.problems import Refused
from coop.outbox.models import Message
from properties.conditions.services import enter_condition
from properties.land.models import Feature
from properties.people.models import Person
from properties.stands.models import Stand
from scheduling.sits.waiting_services import wait_for_seat
from tests.cast import NOW
from tests.scheduling.sits.stage import CLIENT, DAY, booked, facts_handled, give_fits
from tests.scheduling.sits.transfers import accepted, offered

READERS = [("us", "26.8 mph"), ("metric", "12.0 m/s")]
BOOKING = {"local_date": str(DAY), "span": "evening"}


def reads(person, units):
    Person.objects.filter(id=person.id).update(units=units)


@pytest.mark.parametrize(("units", "gust"), READERS)
def test_a_booking_that_gusts_refuse_tells_them_in_the_members_units(stage, at_now, units, gust):
    give_fits(stage.oak, gust_mps=12.0)
    reads(stage.cast.member, units)

    answer = stage.cast.client(stage.cast.member).post(
        "/api/v1/sits/", {"stand": str(stage.oak.id), **BOOKING}
    )

    assert answer.status_code == 409
    (refusal,) = answer.json()["refusals"]
    assert gust in refusal["sentence"]
    assert answer.json()["detail"] == refusal["sentence"]
    assert (refusal["facts"]["gust_mps"], refusal["facts"]["limit_mps"]) == (12.0, 11.0)


def test_whoever_books_for_another_is_told_in_their_own_units(stage, at_now):
    give_fits(stage.oak, gust_mps=12.0)
    reads(stage.cast.member, "us")
    reads(stage.cast.manager, "metric")

    answer = stage.cast.client(stage.cast.manager).post(
        "/api/v1/sits/",
        {"stand": str(stage.oak.id), "person": str(stage.cast.member.id), **BOOKING},
    )

    assert "12.0 m/s" in answer.json()["detail"]


def test_an_outfitters_application_has_no_profile_and_reads_us_units(stage, at_now):
    give_fits(stage.creek, gust_mps=12.0)

    answer = stage.cast.application_client().post(
        "/api/v1/sits/", {"stand": str(stage.creek.id), "client": CLIENT, **BOOKING}
    )

    (refusal,) = answer.json()["refusals"]
    assert "26.8 mph" in refusal["sentence"]
    assert refusal["facts"]["gust_mps"] == 12.0


@pytest.mark.parametrize(("units", "gust"), READERS)
def test_whoever_takes_over_a_sit_is_refused_in_their_own_units(stage, units, gust):
    transfer = offered(stage)
    give_fits(stage.oak, gust_mps=12.0)
    reads(stage.ben, units)

    with pytest.raises(Refused, match=gust):
        accepted(stage, transfer)


@pytest.mark.parametrize(("units", "gust"), READERS)
def test_a_place_on_the_waiting_list_tells_its_cautions_in_the_members_units(
    stage, at_now, units, gust
):
    give_fits(stage.oak, gust_mps=12.0)
    entry = wait_for_seat(
        actor=stage.cast.actor(stage.ben),
        land=stage.cast.north,
        stand=stage.oak,
        local_date=DAY,
        span="evening",
        now=NOW,
    )
    reads(stage.ben, units)

    answer = stage.cast.client(stage.ben).get(f"/api/v1/waiting-list/{entry.id}/")

    (caution,) = answer.json()["cautions"]
    assert gust in caution["sentence"]


@pytest.mark.parametrize(("units", "setback"), [("us", "164 yd"), ("metric", "150 m")])
def test_waiting_for_ground_that_stays_too_near_is_refused_in_the_members_units(
    stage, units, setback
):
    Feature.objects.create(
        property=stage.cast.north,
        kind="hazard",
        hazard_sort="house",
        name="Tenant house",
        geometry={"type": "Point", "coordinates": [stage.oak.longitude, stage.oak.latitude]},
        west=0,
        south=0,
        east=0,
        north=0,
    )
    reads(stage.ben, units)

    with pytest.raises(Refused, match=setback):
        wait_for_seat(
            actor=stage.cast.actor(stage.ben),
            land=stage.cast.north,
            stand=stage.oak,
            local_date=DAY,
            span="evening",
            now=NOW,
        )


@pytest.mark.parametrize(
    ("units", "level", "limit"), [("us", "12.5 ft", "13.1 ft"), ("metric", "3.8 m", "4.0 m")]
)
def test_the_letter_about_high_water_is_in_the_members_units(stage, units, level, limit):
    Stand.objects.filter(id=stage.oak.id).update(flood_stage_m=4.0)
    reads(stage.cast.member, units)
    booked(stage)
    enter_condition(
        actor=stage.cast.actor(stage.cast.manager),
        land=stage.cast.north,
        fields={
            "kind": "water",
            "starts_at": NOW,
            "ends_at": NOW + timedelta(days=14),
            "source": "gauge",
            "water_level_m": 3.8,
        },
        now=NOW,
    )

    facts_handled()

    (message,) = Message.objects.filter(recipient=stage.cast.member.email)
    assert f"Water at {level} from" in message.text
    assert f"Water is forecast at {level}" in message.text
    assert f"floods at {limit}" in message.text

"""What calendars show when a published plan moves a sit: to another stand, property or person."""

from datetime import date

import pytest
import time_machine
from django.db import transaction
from django.test import Client
from icalendar import Calendar

from coop.access.roles import Role
from scheduling.rotation.gather import gather
from scheduling.rotation.models import PlannedSeat, RotationPlan
from scheduling.rotation.placing import place_seats
from scheduling.sits.calendar_services import replace_feed
from scheduling.sits.models import Sit
from tests.cast import NOW, grant
from tests.scheduling.sits.stage import make_stage

DAY = date(2025, 11, 8)


@pytest.fixture
def stage(cast):
    with time_machine.travel(NOW, tick=False):
        grant(cast.member, Role.MEMBER, cast.south)
        yield make_stage(cast)


def published(stage, *seats):
    """Place a plan's seats, each of a person and a stand on DAY's evening, as publishing does."""
    cast = stage.cast
    lands = [cast.north, cast.south]
    plan = RotationPlan.objects.create(
        cooperative=cast.cooperative,
        first_on=DAY,
        last_on=DAY,
        fingerprint="made",
        problem={},
        result={},
        explanations=[],
        computed_at=NOW,
    )
    rows = [
        PlannedSeat.objects.create(
            plan=plan,
            property=stand.property,
            stand=stand,
            person=person,
            local_date=DAY,
            kind="evening",
            quality_pct=100,
        )
        for person, stand in seats
    ]
    with transaction.atomic():
        place_seats(
            actor=cast.actor(cast.coordinator),
            plan=plan,
            seats=rows,
            gathered=gather(lands=lands, first_on=DAY, last_on=DAY, now=NOW),
            now=NOW,
        )


def feed(stage, person, land=None):
    _feed, secret = replace_feed(actor=stage.cast.actor(person), land=land, now=NOW)

    def read():
        text = Client().get(f"/calendars/{secret}.ics").content
        return {str(event["UID"]): event for event in Calendar.from_ical(text).walk("VEVENT")}

    return read


@pytest.fixture
def feeds(stage):
    cast = stage.cast
    return {
        "mia": feed(stage, cast.member),
        "ben": feed(stage, stage.ben),
        "north": feed(stage, cast.coordinator, cast.north),
        "south": feed(stage, cast.coordinator, cast.south),
    }


def shown(feeds, name, uid):
    event = feeds[name]().get(uid)
    return event and (str(event["STATUS"]), str(event["SUMMARY"]))


def test_a_sit_that_another_person_gets_is_cancelled_for_the_one_and_new_for_the_other(
    stage, feeds
):
    published(stage, (stage.cast.member, stage.oak))
    old = Sit.objects.get()
    before = feeds["mia"]()[str(old.id)]["SEQUENCE"]

    published(stage, (stage.ben, stage.oak))

    new = Sit.objects.exclude(id=old.id).get()
    assert shown(feeds, "mia", str(old.id)) == ("CANCELLED", "Oak: Mia Member")
    assert feeds["mia"]()[str(old.id)]["SEQUENCE"] > before
    assert shown(feeds, "ben", str(new.id)) == ("CONFIRMED", "Oak: Ben Second")
    assert shown(feeds, "ben", str(old.id)) is None
    assert shown(feeds, "north", str(old.id)) == ("CANCELLED", "Oak: Mia Member")
    assert shown(feeds, "north", str(new.id)) == ("CONFIRMED", "Oak: Ben Second")


def test_a_sit_moved_to_another_stand_is_the_same_event_with_a_higher_sequence(stage, feeds):
    published(stage, (stage.cast.member, stage.oak))
    uid = str(Sit.objects.get().id)
    before = {name: feeds[name]()[uid]["SEQUENCE"] for name in ("mia", "north")}

    published(stage, (stage.cast.member, stage.creek))

    assert Sit.objects.get().stand == stage.creek
    for name in ("mia", "north"):
        assert shown(feeds, name, uid) == ("CONFIRMED", "Creek: Mia Member")
        assert feeds[name]()[uid]["SEQUENCE"] > before[name]


def test_a_sit_moved_to_another_property_is_cancelled_there_and_an_event_here(stage, feeds):
    published(stage, (stage.cast.member, stage.oak))
    uid = str(Sit.objects.get().id)
    before = feeds["north"]()[uid]["SEQUENCE"]

    published(stage, (stage.cast.member, stage.far))

    assert shown(feeds, "north", uid) == ("CANCELLED", "Oak: Mia Member")
    assert feeds["north"]()[uid]["SEQUENCE"] > before
    assert shown(feeds, "south", uid) == ("CONFIRMED", "Far: Mia Member")
    assert shown(feeds, "mia", uid) == ("CONFIRMED", "Far: Mia Member")


def test_two_who_change_places_keep_each_their_own_event(stage, feeds):
    published(stage, (stage.cast.member, stage.oak), (stage.ben, stage.creek))
    of_mia, of_ben = (
        str(Sit.objects.get(person=person).id) for person in (stage.cast.member, stage.ben)
    )

    published(stage, (stage.cast.member, stage.creek), (stage.ben, stage.oak))

    assert shown(feeds, "mia", of_mia) == ("CONFIRMED", "Creek: Mia Member")
    assert shown(feeds, "ben", of_ben) == ("CONFIRMED", "Oak: Ben Second")
    assert set(feeds["north"]()) == {of_mia, of_ben}

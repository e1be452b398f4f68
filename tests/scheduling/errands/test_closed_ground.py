"""Nobody is sent onto closed ground: advice, reminder and walk say until when and why."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine

from coop.outbox.models import Message
from properties.land.models import Closure
from properties.land.services import close_property, lift_closure
from scheduling.errands.advice_services import advise_again
from scheduling.errands.models import Errand
from scheduling.errands.opening_services import open_errand
from scheduling.errands.reminder_services import remind
from tests.cast import NOW, make_stand, square
from tests.scheduling.errands.test_errand_walks import (
    PATH,
    SYSTEM,
    TOMORROW,
    forecast,
    names,
    opened,
    walked,
)
from tests.scheduling.sits.stage import facts_handled

TODAY = NOW.date()
BURNT = "The ground is closed until the end of Monday 03 November 2025: Burning the east."


@pytest.fixture
def land(cast):
    """North wind on every hour to come, so that nothing but closures sets hours apart."""
    forecast(cast.north, lambda _number: 0, hours=110)
    return cast.north


@pytest.fixture
def stands(land):
    return {
        name: make_stand(land, name, longitude=land.longitude + east)
        for name, east in {"West": -0.004, "East": 0.004}.items()
    }


def closed(land, *, days=3, first_on=TODAY, reason="Burning the east", **fields):
    return close_property(
        actor=SYSTEM,
        land=land,
        first_on=first_on,
        last_on=first_on + timedelta(days=days - 1),
        reason=reason,
        now=NOW,
        **fields,
    )


def east_of(land):
    return square(land.longitude + 0.003, land.latitude - 0.001, 0.002)


def local(land, instant):
    return instant.astimezone(ZoneInfo(land.time_zone))


class TestAdvice:
    def test_it_says_until_when_and_why_and_names_an_hour_of_the_first_open_day(self, land, stands):
        closed(land)

        errand = opened(stands["West"])

        assert errand.advice.startswith(BURNT + " Least harm: Tuesday 04 November")
        assert local(land, errand.go_from).date() == date(2025, 11, 4)

    def test_a_closed_part_closes_what_stands_in_it_and_nothing_else(self, land, stands):
        closed(land, part=east_of(land))

        inside, outside = opened(stands["East"]), opened(stands["West"])

        assert inside.advice.startswith(BURNT)
        assert local(land, inside.go_from).date() == date(2025, 11, 4)
        assert "closed" not in outside.advice
        assert local(land, outside.go_from).date() == TODAY

    def test_with_mornings_closed_the_hour_lies_in_an_afternoon(self, land, stands):
        closed(land, first_on=TOMORROW, days=9, session_kind="morning")
        # By the clock there the hours of today are over.
        errand = open_errand(
            actor=SYSTEM,
            kind="trim",
            thing=stands["West"],
            reason="It is due.",
            now=NOW + timedelta(hours=4),
        )

        said = "closed in the mornings from Sunday 02 November until the end of Monday 10"
        assert said in errand.advice
        assert local(land, errand.go_from).date() == TOMORROW
        assert local(land, errand.go_from).hour >= 12

    def test_where_no_day_is_open_it_names_no_hour_and_says_to_wait(self, land, stands):
        closed(land, days=20)

        errand = opened(stands["West"])

        assert (errand.go_from, errand.go_until) == (None, None)
        assert "wait until the ground is" in errand.advice

    def test_an_errand_without_a_place_is_on_a_closed_property_all_the_same(self, cast, land):
        closed(land)

        camera = land.cameras.create(name="In the shed")

        assert opened(camera, kind="check_camera").advice.startswith(BURNT)

    def test_the_longest_reason_still_leaves_room_for_the_hour(self, land, stands):
        closed(land, reason="word " * 60)

        errand = opened(stands["West"])

        assert "Least harm: Tuesday" in errand.advice
        assert len(errand.advice) < 500

    def test_closing_and_opening_the_ground_reach_errands_that_stand_open(self, land, stands):
        errand, other = opened(stands["East"]), opened(stands["West"])
        closure = closed(land, part=east_of(land))
        facts_handled()

        told = Errand.objects.get(id=errand.id)
        lift_closure(actor=SYSTEM, closure=closure, now=NOW)
        facts_handled()

        assert told.advice.startswith(BURNT)
        assert local(land, told.go_from).date() == date(2025, 11, 4)
        assert Errand.objects.get(id=errand.id).advice == errand.advice
        assert Errand.objects.get(id=other.id).version == other.version

    def test_it_is_given_anew_once_and_asks_as_often_for_many_errands(
        self, land, stands, django_assert_max_num_queries
    ):
        opened(stands["East"])
        opened(stands["West"])
        Closure.objects.create(property=land, first_on=TODAY, last_on=TOMORROW, reason="Logging")

        assert advise_again(actor=SYSTEM, land=land, now=NOW) == 2
        with django_assert_max_num_queries(10) as few:
            assert advise_again(actor=SYSTEM, land=land, now=NOW) == 0
        for number in range(8):
            opened(make_stand(land, f"S{number}"))
        with django_assert_max_num_queries(len(few)):
            assert advise_again(actor=SYSTEM, land=land, now=NOW) == 0


class TestReminder:
    def test_it_tells_of_a_closure_that_nobody_had_told_the_errand_of(self, land, stands):
        opened(stands["East"])
        Closure.objects.create(
            property=land,
            first_on=TODAY,
            last_on=TODAY + timedelta(days=2),
            reason="Burning the east",
        )

        remind(now=NOW)

        text = Message.objects.get().text
        assert BURNT in text
        assert "Least harm: Tuesday 04 November" in text

    def test_when_the_closed_days_are_over_it_tells_of_them_no_more(self, land, stands):
        closed(land)
        opened(stands["East"])

        remind(now=NOW + timedelta(days=3))

        assert "closed" not in Message.objects.get().text


class TestWalk:
    @pytest.fixture(autouse=True)
    def _today(self):
        with time_machine.travel(NOW, tick=False):
            yield

    def test_what_lies_on_closed_ground_is_left_out_and_told_apart(self, land, stands):
        opened(stands["East"])
        opened(stands["West"])
        closed(land, part=east_of(land))

        walk = walked(land)

        assert names(walk) == ["West"]
        assert [errand.stand.name for errand in walk.closed] == ["East"]
        assert walk.closures == ("A part of " + BURNT[0].lower() + BURNT[1:],)
        assert walk.hours

    def test_it_names_a_closed_part_that_its_straight_line_touches(self, land, stands):
        opened(stands["West"])
        middle = square(land.longitude - 0.002, land.latitude - 0.001, 0.002)
        closed(land, part=middle)
        opened(make_stand(land, "Far east", longitude=land.longitude + 0.008))

        walk = walked(land)

        crossed = [stop.crosses for stop in walk.stops]
        assert ("Closed: Burning the east",) in crossed

    def test_on_a_closed_property_nothing_is_to_be_done(self, cast, land, stands):
        opened(stands["West"])
        closed(land)

        question = {"property": land.id, "on": TOMORROW}
        answer = cast.client(cast.member).get(PATH, question).data

        assert answer["stops"] == []
        assert answer["hours"] == []
        assert len(answer["closed"]) == 1
        assert answer["closures"] == [BURNT]
        assert BURNT in answer["notice"]
        assert answer["start_sentence"] == "Nothing is to be done on open ground."

    def test_with_the_evening_closed_it_is_over_by_noon(self, land, stands):
        opened(stands["West"])
        closed(land, first_on=TOMORROW, session_kind="evening")

        walk = walked(land)

        assert names(walk) == ["West"]
        assert walk.hours
        assert all(local(land, hour.ends_at).hour <= 12 for hour in walk.hours)

    def test_it_asks_as_often_for_many_errands_and_closures(
        self, cast, land, stands, django_assert_max_num_queries
    ):
        client = cast.client(cast.member)
        question = {"property": land.id, "on": TOMORROW}
        opened(stands["East"])
        opened(stands["West"])
        closed(land, part=east_of(land))
        client.get(PATH, question)
        with django_assert_max_num_queries(30) as few:
            client.get(PATH, question)
        for number in range(6):
            opened(make_stand(land, f"S{number}"))
            closed(land, part=east_of(land), reason=f"Reason {number}")
        with django_assert_max_num_queries(len(few)):
            assert len(client.get(PATH, question).data["closures"]) == 7

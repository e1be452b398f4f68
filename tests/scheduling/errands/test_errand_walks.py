"""A day's errands as one walk: what belongs on it, in which order, and when it does least harm."""

from datetime import datetime, timedelta

import pytest
import time_machine

from coop.access.actors import system_actor
from properties.conditions.models import Condition
from properties.land.services import create_feature
from properties.wind.services import store_forecast
from properties.wind.weather_hours import WeatherImport, weather_hour
from scheduling.errands.life_services import assign_errand
from scheduling.errands.models import Errand, ErrandKind
from scheduling.errands.opening_services import open_errand
from scheduling.errands.walk_queries import errand_walk
from scheduling.sits.models import Sit, SitSpan
from tests.cast import NOW, make_stand, square
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

PATH = "/api/v1/errand-walks/"
SYSTEM = system_actor("test")
TOMORROW = NOW.date() + timedelta(days=1)


def feature(land, kind, name, geometry, **fields):
    return create_feature(
        actor=SYSTEM,
        land=land,
        fields={"kind": kind, "name": name, "geometry": geometry, **fields},
        now=NOW,
    )


def line(land, *offsets):
    """A line through places that lie east and north of the property's centre, in degrees."""
    coordinates = [[land.longitude + east, land.latitude + north] for east, north in offsets]
    return {"type": "LineString", "coordinates": coordinates}


def opened(thing, kind=ErrandKind.TRIM, **fields):
    return open_errand(actor=SYSTEM, kind=kind, thing=thing, reason="It is due.", now=NOW, **fields)


def told(land, on, **fields):
    """A condition from noon until three of a day, by the clock of UTC."""
    noon = datetime.combine(on, NOW.time(), NOW.tzinfo)
    return Condition.objects.create(
        property=land,
        starts_at=noon,
        ends_at=noon + timedelta(hours=3),
        source="the manager saw it",
        entered_by="Max",
        **fields,
    )


def walked(land, **question):
    return errand_walk(land, **{"on": TOMORROW, "now": NOW, **question})


@pytest.fixture
def north(cast):
    """The way in runs from the boundary in the west to 400 m west of the centre."""
    feature(cast.north, "access_route", "West gate", line(cast.north, (-0.0099, 0), (-0.005, 0)))
    return cast.north


@pytest.fixture
def row(north):
    """Three stands east of the way in, Middle some 330 m north of the line of the others."""
    places = {"Far": (0.006, 0), "Middle": (0.001, 0.003), "Near": (-0.004, 0)}
    return {
        name: make_stand(
            north, name, longitude=north.longitude + east, latitude=north.latitude + up
        )
        for name, (east, up) in places.items()
    }


def forecast(land, direction_at, hours=60):
    found = tuple(
        weather_hour(
            instant=NOW + timedelta(hours=number),
            wind_from_deg=direction_at(number),
            speed_mps=4,
            source="test",
        )
        for number in range(hours)
    )
    store_forecast(
        actor=SYSTEM,
        land=land,
        found=WeatherImport(hours=found, skipped=(), read=len(found), issued_at=NOW),
        source="test",
        now=NOW,
    )


def names(walk):
    return [errand.stand.name for stop in walk.stops for errand in stop.errands]


def test_it_begins_at_the_way_in_and_calls_at_the_stops_in_the_shortest_order(north, row):
    for stand in row.values():
        opened(stand)

    walk = walked(north)

    # In metres from the way in: Near 479, Far 1291 east; Middle 885 east, 333 north.
    # 479 + 812 + 525 + 946 = 2762; by Near, Middle, Far it would be 2820.
    assert names(walk) == ["Near", "Far", "Middle"]
    assert walk.length_m == pytest.approx(2762, rel=0.005)
    assert walk.length_m == pytest.approx(
        sum(stop.from_last_m for stop in walk.stops) + walk.back_m
    )
    assert walk.start == pytest.approx((north.longitude - 0.0099, north.latitude))
    assert walk.start_sentence == "From West gate."
    assert walk.is_shortest


def test_things_close_to_each_other_are_one_stop(north):
    scrape = make_scrape(north)
    camera = make_camera(north)
    make_deployment(camera, scrape)
    opened(scrape, ErrandKind.REFRESH_SCENT)
    opened(camera, ErrandKind.CHECK_CAMERA)

    (stop,) = walked(north).stops

    assert {one.kind for one in stop.errands} == {"refresh_scent", "check_camera"}


def test_what_is_due_later_than_the_setting_stays_off_the_walk(north, row):
    opened(row["Near"], due_on=TOMORROW + timedelta(days=7))
    opened(row["Far"], due_on=TOMORROW + timedelta(days=8))

    assert names(walked(north)) == ["Near"]


def test_a_camera_that_hangs_nowhere_is_told_apart(north, row):
    opened(row["Near"])
    lost = opened(make_camera(north), ErrandKind.CHECK_CAMERA)

    walk = walked(north)

    assert walk.without_place == (lost,)
    assert names(walk) == ["Near"]


def test_somebodys_own_walk_holds_what_is_theirs_or_nobodys(cast, north, row):
    errands = {name: opened(stand) for name, stand in row.items()}
    for name, person in (("Near", cast.member), ("Far", cast.manager)):
        assign_errand(actor=SYSTEM, errand=errands[name], assignee=person, now=NOW)

    assert names(walked(north, assignee_id=cast.member.id)) == ["Near", "Middle"]


def test_a_line_across_ground_nobody_enters_is_named(north, row):
    opened(row["Far"])
    feature(
        north,
        "sanctuary",
        "Cedar thicket",
        square(north.longitude - 0.001, north.latitude - 0.001, 0.002),
    )

    (stop,) = walked(north).stops

    assert stop.crosses == ("Cedar thicket",)


def test_without_a_mapped_way_in_it_begins_at_the_nearest_boundary_and_says_so(cast):
    stand = make_stand(cast.north, "East", longitude=cast.north.longitude + 0.009)
    opened(stand)

    walk = walked(cast.north)

    assert walk.start == pytest.approx((cast.north.east, cast.north.latitude))
    assert "No access route is mapped" in walk.start_sentence


def test_of_two_ways_in_the_one_with_the_shorter_walk_is_taken(north, row):
    opened(row["Far"])
    feature(north, "access_route", "East gate", line(north, (0.0098, 0), (0.007, 0)))

    assert walked(north).start_sentence == "From East gate."


def test_the_hours_are_those_in_which_no_stop_is_smelled(north, row):
    """Bedding east of one stop alone: west wind spoils it, and with it the whole walk."""
    for stand in row.values():
        opened(stand)
    far = row["Far"]
    feature(north, "bedding", "Bench", square(far.longitude + 0.0005, far.latitude - 0.001, 0.002))
    # NOW is noon there; of tomorrow's hours those before ten have wind from the west.
    forecast(north, lambda number: 270 if number < 23 else 90)

    walk = walked(north)

    assert walk.hours
    chances = {hour.starts_at: hour.fit for hour in walk.hours}
    assert max(chances.values()) == walk.best.fit
    assert walk.best.starts_at >= NOW + timedelta(hours=22)
    for hour in walk.hours:
        assert hour.fit <= hour.worst
        assert hour.ends_at - hour.starts_at >= timedelta(minutes=walk.minutes)


def test_each_stop_is_judged_in_the_hour_in_which_one_is_there(north, row):
    north.settings = {"errands": {"work_minutes": 50}}
    north.save()
    for stand in row.values():
        opened(stand)
    far = row["Far"]
    feature(north, "bedding", "Bench", square(far.longitude + 0.0005, far.latitude - 0.001, 0.002))
    forecast(north, lambda number: 270 if number == 23 else 90)
    walk = walked(north)
    there = next(stop.after_minutes for stop in walk.stops if stop.errands[0].stand == far)
    spoilt = NOW + timedelta(hours=23) - timedelta(hours=there // 60)

    chances = {hour.starts_at: hour.fit for hour in walk.hours}

    assert there >= 60
    assert min(chances, key=chances.get) == spoilt


def test_no_walk_begins_where_it_would_meet_a_sit(cast, north, row):
    opened(row["Near"])
    forecast(north, lambda _number: 0)
    free = walked(north)
    sit = Sit.objects.create(
        property=north,
        stand=row["Far"],
        person=cast.member,
        local_date=TOMORROW,
        span=SitSpan.MORNING,
        starts_at=free.hours[0].starts_at,
        ends_at=free.hours[1].ends_at,
    )

    for hour in walked(north).hours:
        assert hour.starts_at >= sit.ends_at or hour.ends_at <= sit.starts_at


def test_without_a_forecast_it_names_no_hour_and_says_so(north, row):
    opened(row["Near"])

    walk = walked(north)

    assert (walk.hours, walk.best) == ((), None)
    assert "No forecast" in walk.hours_sentence


def test_a_walk_longer_than_the_days_hours_is_said_to_have_no_room(north):
    north.settings = {"errands": {"work_minutes": 240}}
    north.save()
    for number in range(2):
        opened(make_stand(north, f"S{number}", latitude=north.latitude + number / 1000))
    forecast(north, lambda _number: 0)

    walk = walked(north)

    assert walk.hours == ()
    assert "No start leaves time" in walk.hours_sentence


class TestOverHTTP:
    @pytest.fixture(autouse=True)
    def _at_noon(self):
        with time_machine.travel(NOW, tick=False):
            yield

    def test_a_member_is_shown_the_walk_with_its_cautions(self, cast, north, row):
        opened(row["Near"])
        forecast(north, lambda _number: 0)

        answer = cast.client(cast.member).get(PATH, {"property": north.id, "on": TOMORROW})

        assert answer.status_code == 200, answer.data
        (stop,) = answer.data["stops"]
        assert stop["errands"][0]["stand"] == row["Near"].id
        assert answer.data["best"]["fit"] <= 1
        assert "straight lines" in answer.data["notice"]
        assert "local law" in answer.data["notice"]

    def test_what_was_told_of_the_day_stands_in_the_answer_and_in_its_notice(
        self, cast, north, row
    ):
        opened(row["Near"])
        told(north, TOMORROW, kind="ice")
        told(north, TOMORROW + timedelta(days=1), kind="thunder", thunder_chance=1)
        client = cast.client(cast.member)

        answer = client.get(PATH, {"property": north.id, "on": TOMORROW}).data
        today = client.get(PATH, {"property": north.id}).data

        (sentence,) = answer["conditions"]
        assert sentence.startswith("Ice on ladders")
        assert sentence in answer["notice"]
        assert "look yourself" in answer["notice"]
        assert today["conditions"] == []

    def test_a_day_gone_by_or_too_far_ahead_is_refused(self, cast, north):
        client = cast.client(cast.member)
        for days in (-1, 15):
            on = NOW.date() + timedelta(days=days)
            assert client.get(PATH, {"property": north.id, "on": on}).status_code == 400

    def test_who_may_not_see_errands_sees_no_walk(self, cast, north):
        assert cast.client(cast.landowner).get(PATH, {"property": north.id}).status_code == 403
        assert cast.client(cast.stranger).get(PATH, {"property": north.id}).status_code == 400

    def test_it_asks_as_often_for_many_errands_as_for_two(
        self, cast, north, row, django_assert_max_num_queries
    ):
        client = cast.client(cast.member)
        question = {"property": north.id, "on": TOMORROW}
        opened(row["Near"])
        opened(row["Far"])
        forecast(north, lambda _number: 0)
        client.get(PATH, question)
        with django_assert_max_num_queries(30) as few:
            client.get(PATH, question)
        for number in range(12):
            opened(make_stand(north, f"S{number}", latitude=north.latitude + number / 2000))
        with django_assert_max_num_queries(len(few)):
            answer = client.get(PATH, question)
        assert not answer.data["is_shortest"]
        assert Errand.objects.count() == 14

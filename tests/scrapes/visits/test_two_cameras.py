"""Camera or scrape: what a camera's death, full card, season and weather do to effort and state."""

from datetime import timedelta

import numpy as np
import pytest

from scrapes.cameras.models import CameraStatus, Outage
from scrapes.visits.hangings import living
from scrapes.visits.queries import scrape_visits
from scrapes.visits.scrape_records import records_of, settings_in_force
from tests.cast import NOW
from tests.scrapes.seasons import (
    dying,
    evenly,
    observe,
    other_animals,
    pull_card,
    steady,
    watched_scrape,
)
from tests.scrapes.sites.places import make_camera, make_deployment

DAY = timedelta(days=1)
NOW_S = int(NOW.timestamp())


def record(land):
    (one,) = records_of(
        [land],
        first_on=(NOW - 80 * DAY).date(),
        last_on=NOW.date(),
        now=NOW,
        settings=settings_in_force(land, now=NOW),
    )
    return one


def there(land):
    """By camera that hangs there now: whether it is at fault, what was found, and whether
    another one's word counts instead."""
    hangings = record(land).hangings
    counted = living(hangings, now_s=NOW_S)
    return {
        one.health.camera: (
            one.health.hides_visits,
            [finding.code for finding in one.health.findings],
            one not in counted,
        )
        for one in hangings
        if one.overlaps(NOW_S - 1, NOW_S)
    }


def nights(land, first, last=0):
    """Camera-nights from ``first`` to ``last`` days ago, by whole local days."""
    (one,) = scrape_visits(
        land, first_on=(NOW - first * DAY).date(), last_on=(NOW - (last + 1) * DAY).date(), now=NOW
    )
    return one.rate.camera_nights, one.rate.visits


def second_camera(hung, *, per_night=2.0):
    camera = make_camera(hung.scrape.property, "Second")
    other = make_deployment(camera, hung.scrape, starts_at=hung.starts_at)
    pull_card(camera)
    observe(other, evenly(per_night))
    other_animals(other)
    return other


def test_one_dead_camera_of_two_is_named_while_effort_goes_on_from_the_other(north):
    hung = dying(north, "Oak", nights=15)
    alone, _ = nights(north, 10)
    second_camera(hung)

    assert alone == 0
    assert there(north) == {
        "Camera Oak": (True, ["silent"], True),
        "Second": (False, [], False),
    }
    effort, visits = nights(north, 10)
    assert effort == pytest.approx(10)
    assert visits == pytest.approx(20, abs=2)


def test_two_dead_cameras_leave_nobody_watching(north):
    hung = dying(north, "Oak", nights=15)
    dead = make_deployment(make_camera(north, "Second"), hung.scrape, starts_at=hung.starts_at)
    pull_card(dead.camera)
    observe(dead, evenly(2.0, last=12))

    assert [(fault, watched) for fault, _, watched in there(north).values()] == [(True, False)] * 2
    assert nights(north, 10) == (0, 0)
    assert nights(north, 15, 12)[0] == pytest.approx(3, abs=0.5)


def test_a_camera_in_an_outage_or_never_read_watches_for_no_other(north):
    hung = dying(north, "Oak", nights=15)
    other = second_camera(hung)
    Outage.objects.create(deployment=other, kind="obscured", starts_at=NOW - DAY)
    make_deployment(make_camera(north, "Never read"), hung.scrape, starts_at=NOW - 9 * DAY)

    assert there(north)["Camera Oak"][2] is False


def test_a_camera_taken_down_is_no_longer_there(north):
    hung = dying(north, "Oak", nights=15)
    second_camera(hung)
    hung.ends_at = NOW - 5 * DAY
    hung.save()

    assert there(north) == {"Second": (False, [], False)}


def test_slow_death_is_warned_of_then_hides_visits_and_ends_effort_at_the_last_picture(north):
    hung = watched_scrape(north, "Oak", transmits=True)
    observe(hung, evenly(2.0, last=4))
    other_animals(hung, last=4)
    readings = [
        CameraStatus(camera=hung.camera, reported_at=NOW - ago * DAY, battery_pct=4.5 * ago)
        for ago in range(20, 0, -1)
    ]
    CameraStatus.objects.filter(camera=hung.camera).delete()
    CameraStatus.objects.bulk_create(readings[:-3])
    earlier = NOW - 4 * DAY
    (warned,) = records_of(
        [north],
        first_on=(NOW - 80 * DAY).date(),
        last_on=earlier.date(),
        now=earlier,
        settings=settings_in_force(north, now=earlier),
    )
    (before,) = warned.hangings
    CameraStatus.objects.bulk_create(readings[-3:])

    assert [finding.code for finding in before.health.findings] == ["battery_low"]
    assert not before.health.hides_visits
    fault, codes, _ = there(north)["Camera Oak"]
    assert fault
    assert "battery_empty" in codes
    # The last picture is four days old; what was reported since proves no absence of deer.
    assert nights(north, 3) == (0, 0)
    assert nights(north, 20, 5)[0] == pytest.approx(15)


def test_a_full_card_ends_effort_at_the_last_picture(north):
    hung = watched_scrape(north, "Oak")
    observe(hung, evenly(2.0, last=6))
    other_animals(hung, last=6)
    CameraStatus.objects.filter(camera=hung.camera).update(card_used_pct=100)

    fault, codes, _ = there(north)["Camera Oak"]
    assert fault
    assert "card_full" in codes
    assert nights(north, 5) == (0, 0)
    assert nights(north, 20, 7)[0] == pytest.approx(13)


def test_at_the_seasons_end_deer_stay_away_and_the_camera_works_on(north):
    hung = watched_scrape(north, "Oak")
    observe(hung, evenly(2.0, last=21))
    other_animals(hung)

    assert there(north)["Camera Oak"] == (False, [], False)
    assert nights(north, 20) == (pytest.approx(20), 0)


@pytest.mark.parametrize("every_minutes", [2, 20])
def test_after_a_week_of_storm_a_seldom_triggered_camera_is_held_to_its_own_habit(
    north, every_minutes
):
    """Branches in the wind make thousands of short gaps; they are no habit of the camera's."""
    hung = watched_scrape(north, "Oak")
    rng = np.random.default_rng(8)
    calm = NOW - timedelta(hours=60)
    quiet = [NOW - timedelta(hours=float(ago)) for ago in np.cumsum(rng.uniform(20, 50, 60))]
    observe(hung, [at for at in quiet if at < calm and at > NOW - 88 * DAY], kind="blank")
    storm = NOW - 12 * DAY
    minutes = range(0, 7 * 24 * 60, every_minutes)
    observe(hung, [storm + timedelta(minutes=minute) for minute in minutes], kind="blank")

    assert there(north)["Camera Oak"] == (False, [], False)
    assert nights(north, 12, 5) == (pytest.approx(7), 0)


def test_a_camera_that_died_in_the_storm_is_at_fault_all_the_same(north):
    hung = steady(north, "Oak")
    storm = NOW - 19 * DAY
    hung.observations.filter(observed_at__gte=storm).delete()
    minutes = range(0, 7 * 24 * 60, 5)
    observe(hung, [storm + timedelta(minutes=minute) for minute in minutes], kind="blank")

    fault, codes, _ = there(north)["Camera Oak"]
    assert (fault, codes) == (True, ["silent"])
    assert nights(north, 11) == (0, 0)
    assert nights(north, 19, 12)[0] == pytest.approx(7, abs=0.1)

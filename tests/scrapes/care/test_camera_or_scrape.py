"""Is it the camera or the scrape? Each way in which a camera fails, and what only looks like it."""

from datetime import timedelta

import numpy as np
import pytest

from coop.access.actors import system_actor
from coop.outbox import services as outbox
from scheduling.errands.models import Errand
from scrapes.cameras.models import CameraStatus
from scrapes.care import services
from scrapes.care.models import ScrapeReview
from scrapes.visits.season_curve import relative_use
from scrapes.visits.settings import SeasonSettings
from tests.cast import NOW
from tests.scrapes.seasons import (
    NIGHTS,
    declining,
    evenly,
    observe,
    other_animals,
    pull_card,
    steady,
    watched_scrape,
)
from tests.scrapes.sites.places import make_camera, make_deployment

FAR = 0.004


def errands_after_review(land, now=NOW):
    services.review_property(actor=system_actor("test"), land=land, now=now)
    outbox.drain(now=now)
    return {(one.kind, one.scrape or one.camera) for one in Errand.objects.all()}


def review_of(scrape):
    return ScrapeReview.objects.get(scrape=scrape)


def fading(per_night, *, over, to=0.0):
    """Instants at ``per_night`` until ``over`` nights ago, then fewer and fewer, a share of ``to``
    at last."""
    kept = np.random.default_rng(6)
    found = []
    for at in evenly(per_night):
        ago = (NOW - at) / timedelta(days=1)
        if ago > over or kept.uniform() < max(to, ago / over):
            found.append(at)
    return found


def second_camera(hung, name="Second"):
    camera = make_camera(hung.scrape.property, name)
    other = make_deployment(camera, hung.scrape, starts_at=hung.starts_at)
    pull_card(camera)
    return other


class TestTwoCamerasOneDead:
    def test_the_dead_one_is_looked_at_and_the_living_one_asks_for_scent(self, north):
        hung = declining(north, "Oak")
        dead = second_camera(hung)
        observe(dead, evenly(2.0, last=15))

        assert errands_after_review(north) == {
            ("check_camera", dead.camera),
            ("refresh_scent", hung.scrape),
        }
        camera, scent = Errand.objects.order_by("kind")
        assert camera.reason.startswith("Oak: Second: No picture")
        assert "were expected" in scent.reason
        assert "Second" not in scent.reason

    def test_what_the_dead_one_saw_before_is_not_held_against_the_living_one(self, north):
        """Each of two cameras sees other deer: three and one a night. The one that dies saw most
        of them; the living one goes on as ever."""
        dead = watched_scrape(north, "Oak")
        observe(dead, evenly(3.0, last=21))
        other_animals(dead, last=21)
        alive = second_camera(dead, "Alive")
        observe(alive, [at + timedelta(hours=2) for at in evenly(1.0)])
        other_animals(alive)

        assert errands_after_review(north) == {("check_camera", dead.camera)}
        figures = review_of(dead.scrape).figures
        assert figures["finding"] == "no_drop"
        assert figures["ratio"] == pytest.approx(1, abs=0.15)
        assert figures["base_rate_per_night"] == pytest.approx(1, abs=0.15)

    def test_both_are_asked_for_once(self, north):
        hung = declining(north, "Oak")
        dead = second_camera(hung)
        observe(dead, evenly(2.0, last=15))
        errands_after_review(north)
        Errand.objects.update(state="done")

        later = NOW + timedelta(days=1)
        pull_card(hung.camera, later)
        pull_card(dead.camera, later)
        errands_after_review(north, later)

        assert Errand.objects.count() == 2

    def test_members_who_may_do_errands_read_no_camera_in_that_for_scent(self, north, cast):
        hung = declining(north, "Oak")
        errands_after_review(north)

        (row,) = cast.client(cast.member).get("/api/v1/errands/").data["results"]

        assert row["facts"]["visits"] == review_of(hung.scrape).figures["visits"]
        assert hung.camera.name not in str(row["facts"])
        assert "cameras" not in row["facts"]


class TestSlowDeath:
    def test_told_by_the_battery(self, north):
        hung = watched_scrape(north, "Oak")
        observe(hung, fading(2.0, over=30))
        observe(hung, fading(6.0, over=30), species="squirrel")
        hung.camera.statuses.update(battery_pct=4)
        for ago in range(60, 0, -5):
            CameraStatus.objects.create(
                camera=hung.camera,
                reported_at=NOW - timedelta(days=ago),
                battery_pct=max(4, 100 * ago / 60),
            )

        assert errands_after_review(north) == {("check_camera", hung.camera)}

    def test_told_by_all_else_that_triggers_it_less(self, north):
        """No reading of the battery, no silence yet: a lens that grows over."""
        hung = watched_scrape(north, "Oak")
        observe(hung, fading(3.0, over=35, to=0.25))
        observe(hung, fading(8.0, over=35, to=0.25), species="squirrel")

        assert errands_after_review(north) == {("check_camera", hung.camera)}
        assert "Everything else triggered" in review_of(hung.scrape).sentence
        assert "Everything else triggered" in Errand.objects.get().reason


def test_a_full_card_is_the_cameras_errand(north):
    hung = watched_scrape(north, "Oak")
    observe(hung, evenly(2.0, last=9))
    other_animals(hung, last=9)
    hung.camera.statuses.update(card_used_pct=99.5)

    assert errands_after_review(north) == {("check_camera", hung.camera)}
    assert "card" in Errand.objects.get().reason.lower()


def test_the_end_of_the_season_sends_nobody(cast):
    """Visits fall to a tenth as the season ends: that is what the curve expects."""
    peak = NOW - timedelta(days=50)
    cast.north.peak_of_breeding = f"{peak:%m-%d}"
    cast.north.save()
    rng = np.random.default_rng(3)
    hung = []
    for number in range(3):
        one = watched_scrape(cast.north, f"S{number}", east=number * FAR)
        nights = np.arange(NIGHTS, 0, -1)
        visits = rng.poisson(3.0 * relative_use(50 - nights, settings=SeasonSettings()))
        ago = np.sort(np.repeat(nights, visits) - rng.uniform(0, 1, visits.sum()))[::-1]
        observe(one, [NOW - timedelta(days=float(days)) for days in ago])
        other_animals(one)
        hung.append(one)

    assert errands_after_review(cast.north) == set()
    for one in hung:
        figures = review_of(one.scrape).figures
        assert figures["visits"] / figures["camera_nights"] < 0.8
        assert figures["season_level"] < 0.3


class TestAWeekOfStorm:
    """Nothing moves for seven nights, which ended ten days ago; wind shakes the branches."""

    @staticmethod
    def through_a_storm(land, name, **place):
        hung = watched_scrape(land, name, **place)
        for per_night, fields in ((2.0, {}), (6.0, {"species": "squirrel"})):
            observe(hung, evenly(per_night, last=17), **fields)
            observe(hung, evenly(per_night, first=10), **fields)
        observe(hung, evenly(20, first=17, last=10), kind="blank")
        return hung

    def test_over_three_scrapes_it_sends_nobody(self, north):
        for number in range(3):
            self.through_a_storm(north, f"S{number}", east=number * FAR)

        assert errands_after_review(north) == set()

    def test_over_a_lone_scrape_it_sends_nobody_for_scent(self, north):
        hung = self.through_a_storm(north, "Oak")

        assert ("refresh_scent", hung.scrape) not in errands_after_review(north)

    def test_a_scrape_that_deer_left_in_the_storm_and_did_not_come_back_to_is_still_found(
        self, north
    ):
        hung = declining(north, "Oak", nights=17, fallen_to=0.1)
        for number in range(3):
            steady(north, f"S{number}", east=(number + 1) * FAR)

        assert errands_after_review(north) == {("refresh_scent", hung.scrape)}

"""From visits and effort to the window that is judged."""

import numpy as np
import pytest

from scrapes.visits.drop import judge_drop
from scrapes.visits.drop_question import DropQuestion, Finding
from scrapes.visits.effort import Deployment, Outage, union, working_time
from scrapes.visits.rates import GammaRate
from scrapes.visits.record import NightlyRecord, nightly_record, recent_window
from scrapes.visits.settings import DropSettings, SeasonSettings

DAY = 86_400
RULES = DropSettings()
FLAT = SeasonSettings(off_season_level=1.0)
PRIOR = GammaRate(shape=1.5, rate=1.5)


def record_of(visits, camera_nights):
    nights = np.asarray(camera_nights, dtype=float)
    return NightlyRecord(
        visits=np.asarray(visits, dtype=np.int64), camera_nights=nights, use_nights=nights
    )


def test_visits_and_effort_fall_into_their_nights():
    edges = np.arange(4, dtype=np.int64) * DAY
    record = nightly_record(
        visit_start_s=np.array([0, 10, DAY, 3 * DAY], dtype=np.int64),
        watched=union([0], [2 * DAY + DAY // 2]),
        edge_s=edges,
        days_from_peak=np.array([-14.0, 100.0, -14.0]),
        season=SeasonSettings(off_season_level=0.1),
    )
    assert record.visits.tolist() == [2, 1, 0]
    assert record.camera_nights.tolist() == [1, 1, 0.5]
    assert record.use_nights.tolist() == pytest.approx([1, 0.1, 0.5], abs=1e-6)


def test_a_night_of_twenty_five_hours_is_longer():
    record = nightly_record(
        visit_start_s=np.zeros(0, dtype=np.int64),
        watched=union([0], [10 * DAY]),
        edge_s=np.array([0, 25 * 3600], dtype=np.int64),
        days_from_peak=np.zeros(1),
        season=FLAT,
    )
    assert record.camera_nights.tolist() == pytest.approx([25 / 24])


def test_a_visit_in_an_outage_counts_for_nothing():
    record = nightly_record(
        visit_start_s=np.array([100, DAY + 100], dtype=np.int64),
        watched=union([0], [DAY]),
        edge_s=np.arange(3, dtype=np.int64) * DAY,
        days_from_peak=np.zeros(2),
        season=FLAT,
    )
    assert record.visits.tolist() == [1, 0]


def test_refuses_edges_that_do_not_rise():
    with pytest.raises(ValueError, match="rising"):
        nightly_record(
            visit_start_s=np.zeros(0, dtype=np.int64),
            watched=union([], []),
            edge_s=np.array([0, 0], dtype=np.int64),
            days_from_peak=np.zeros(1),
            season=FLAT,
        )


def test_the_window_holds_the_nights_asked_for_and_the_rest_is_the_record():
    window = recent_window(record_of([2] * 60, [1.0] * 60), prior=PRIOR, settings=RULES)
    assert window.first_night == 60 - RULES.window_nights
    assert window.camera_nights == RULES.window_nights
    assert window.visits == 2 * RULES.window_nights
    assert window.base.mean == pytest.approx(2, rel=0.05)


def test_nights_without_a_camera_lengthen_the_window_but_not_for_ever():
    gap = [1.0] * 40 + [0.0] * 10 + [1.0] * 10
    window = recent_window(record_of([2] * 60, gap), prior=PRIOR, settings=RULES)
    assert window.first_night == 60 - RULES.window_nights - 10
    dead = recent_window(record_of([2] * 60, [1.0] * 10 + [0.0] * 50), prior=PRIOR, settings=RULES)
    assert dead.first_night == 60 - 2 * RULES.window_nights
    assert dead.camera_nights == 0


def test_a_record_shorter_than_the_window_is_all_window():
    window = recent_window(record_of([1] * 5, [1.0] * 5), prior=PRIOR, settings=RULES)
    assert window.first_night == 0
    assert window.base.mean == PRIOR.mean


def season_of(deployments, outages, seen_by):
    """A flat season of 90 nights, two visits a night, seen only where ``seen_by`` says."""
    nights = 90
    rng = np.random.default_rng(8)
    starts = np.sort(rng.integers(0, nights * DAY, size=2 * nights)).astype(np.int64)
    watched = working_time(deployments=deployments, outages=outages, now_s=nights * DAY)
    record = nightly_record(
        visit_start_s=starts[seen_by(starts)],
        watched=watched,
        edge_s=np.arange(nights + 1, dtype=np.int64) * DAY,
        days_from_peak=np.zeros(nights),
        season=FLAT,
    )
    window = recent_window(record, prior=PRIOR, settings=RULES)
    return judge_drop(
        DropQuestion(
            scrape="bench",
            visits=window.visits,
            camera_nights=window.camera_nights,
            use_nights=window.use_nights,
            base=window.base,
            dispersion=window.dispersion,
        ),
        settings=RULES,
    )


def camera(name):
    return Deployment(camera=name, start_s=0, end_s=None, known_up_to_s=90 * DAY)


def test_an_outage_that_was_entered_makes_no_drop():
    out = Outage(camera="north", start_s=75 * DAY, end_s=None)
    verdict = season_of([camera("north")], [out], lambda at: at < 75 * DAY)
    assert verdict.finding is Finding.NO_DROP


def test_the_same_silence_without_an_outage_looks_like_a_drop():
    verdict = season_of([camera("north")], [], lambda at: at < 75 * DAY)
    assert verdict.finding is Finding.DROP


def test_one_of_two_cameras_dying_makes_no_drop_while_the_other_sees():
    out = Outage(camera="north", start_s=70 * DAY, end_s=None)
    verdict = season_of(
        [camera("north"), camera("south")], [out], lambda at: np.ones(len(at), dtype=bool)
    )
    assert verdict.finding is Finding.NO_DROP

"""A drop, and everything that may explain it first: each has its own case."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from scrapes.cameras.health import CameraFinding, CameraHealth, CameraState
from scrapes.visits.cusum import watch_for_fall
from scrapes.visits.drop import judge_drop
from scrapes.visits.drop_model import (
    base_rate,
    dispersion_of,
    is_drop,
    predict,
    together,
)
from scrapes.visits.drop_question import (
    DaylightCounts,
    DropQuestion,
    Errand,
    Finding,
    OtherScrape,
    OtherTriggers,
    TakenBuck,
)
from scrapes.visits.rates import GammaRate
from scrapes.visits.settings import CusumSettings, DropSettings

SETTINGS = DropSettings()
PRIOR = GammaRate(shape=1.5, rate=1.5)
BASE = base_rate(PRIOR, visits=120, use_nights=60.0, dispersion=1.5)


def question(**changes):
    plain = DropQuestion(
        scrape="oak flat", visits=8, camera_nights=21.0, use_nights=15.0, base=BASE, dispersion=1.5
    )
    return replace(plain, **changes)


def judged(**changes):
    return judge_drop(question(**changes), settings=SETTINGS)


def other(name, visits, *, distance_m=600.0, use_nights=15.0):
    prediction = predict(BASE, use_nights=use_nights, dispersion=1.5)
    return OtherScrape(name=name, visits=visits, prediction=prediction, distance_m=distance_m)


def camera(name, *, dead):
    finding = CameraFinding(code="silent", sentence="No picture of any kind.", hides_visits=True)
    return CameraHealth(
        camera=name,
        state=CameraState.AT_FAULT if dead else CameraState.WORKING,
        findings=(finding,) if dead else (),
        empty_s=None,
    )


def test_a_quarter_of_the_expected_visits_is_a_drop_with_every_figure():
    verdict = judged()
    assert verdict.finding is Finding.DROP
    assert verdict.errand is Errand.REFRESH_SCRAPE
    assert verdict.expected == pytest.approx(BASE.mean * 15)
    assert verdict.ratio == pytest.approx(8 / verdict.expected)
    assert verdict.chance < SETTINGS.chance_below
    assert verdict.season_level == pytest.approx(15 / 21)
    assert verdict.base_rate_low < verdict.base_rate_per_night < verdict.base_rate_high
    assert "8 visits in 21.0 camera-nights" in verdict.sentences[0]


def test_as_many_visits_as_expected_are_no_drop():
    verdict = judged(visits=30)
    assert verdict.finding is Finding.NO_DROP
    assert verdict.errand is Errand.NONE


def test_the_same_visits_late_in_the_season_are_no_drop():
    assert judged(use_nights=4.0).finding is Finding.NO_DROP


def test_where_little_is_expected_it_says_that_nothing_could_show():
    verdict = judged(visits=0, use_nights=1.0)
    assert verdict.finding is Finding.NO_DROP
    assert not verdict.could_show
    assert "even no visit at all" in verdict.sentences[0]


def test_a_dead_camera_leads_to_the_camera_and_to_no_scent():
    verdict = judged(visits=0, cameras=(camera("north", dead=True),))
    assert verdict.finding is Finding.CAMERA
    assert verdict.errand is Errand.CHECK_CAMERA
    assert any("No picture of any kind" in sentence for sentence in verdict.sentences)


def test_one_dead_camera_of_two_does_not_hide_the_drop():
    both = (camera("north", dead=True), camera("south", dead=False))
    assert judged(cameras=both).finding is Finding.DROP
    assert (
        judged(cameras=tuple(replace(one, state=CameraState.UNKNOWN) for one in both)).finding
        is Finding.DROP
    )


def test_a_dead_camera_with_hardly_a_night_watched_is_still_the_camera():
    verdict = judged(visits=0, camera_nights=2.0, use_nights=1.5, cameras=(camera("n", dead=True),))
    assert verdict.finding is Finding.CAMERA


def test_all_scrapes_falling_together_is_one_notice():
    others = tuple(other(name, 9) for name in ("creek", "saddle", "bench"))
    verdict = judged(others=others)
    assert verdict.finding is Finding.WHOLE_PROPERTY
    assert verdict.errand is Errand.TELL_MANAGER
    assert verdict.property_ratio == pytest.approx(27 / (45 * BASE.mean))


def test_a_scrape_that_falls_much_further_than_the_property_is_its_own_drop():
    others = tuple(other(name, 20) for name in ("creek", "saddle", "bench", "pines"))
    assert judged(visits=1, others=others).finding is Finding.DROP


def test_one_other_scrape_is_too_few_to_speak_for_the_property():
    verdict = judged(others=(other("creek", 8),))
    assert verdict.finding is Finding.DROP
    assert verdict.answers[1].holds is None


def test_visits_that_moved_to_a_scrape_close_by_are_no_drop():
    verdict = judged(others=(other("oak edge", 52, distance_m=80.0),))
    assert verdict.finding is Finding.SAME_SIGNPOST
    assert verdict.errand is Errand.NONE
    assert judged(others=(other("oak edge", 52, distance_m=101.0),)).finding is Finding.DROP


def test_a_scrape_close_by_that_stands_still_took_nothing_over():
    wide = replace(SETTINGS, chance_below=0.0001)
    near = (other("oak edge", 29, distance_m=80.0),)
    assert judge_drop(question(others=near), settings=wide).answers[3].holds is False


def test_a_taken_buck_who_made_half_the_visits_explains_half_of_them():
    half = TakenBuck(name="wide eight", share_of_visits=0.5, share_of_window=1.0)
    verdict = judged(visits=12, bucks_taken=(half,))
    assert verdict.finding is Finding.BUCK_TAKEN
    assert verdict.errand is Errand.NONE
    assert judged(visits=1, bucks_taken=(half,)).finding is Finding.DROP
    small = replace(half, share_of_window=0.1)
    assert judged(visits=12, bucks_taken=(small,)).finding is Finding.DROP


def test_daylight_alone_falling_rests_the_stand_and_adds_no_scent():
    light = DaylightCounts(
        daylight_before=48, total_before=120, daylight_in_window=2, total_in_window=30
    )
    verdict = judged(visits=30, daylight=light)
    assert verdict.finding is Finding.DAYLIGHT_ONLY
    assert verdict.errand is Errand.REST_STAND


def test_daylight_falling_with_the_total_is_a_drop_of_the_total():
    light = DaylightCounts(
        daylight_before=48, total_before=120, daylight_in_window=0, total_in_window=8
    )
    assert judged(daylight=light).finding is Finding.DROP


def test_untagged_pictures_are_unknown_not_nought():
    verdict = judged(untagged_events=20)
    assert verdict.finding is Finding.TOO_LITTLE_KNOWN
    assert verdict.errand is Errand.READ_PICTURES


def test_a_few_untagged_pictures_that_could_not_undo_it_leave_the_drop():
    assert judged(visits=2, untagged_events=2).finding is Finding.DROP


def test_a_card_not_yet_pulled_is_unknown():
    verdict = judged(visits=0, camera_nights=0.0, use_nights=0.0, unread_nights=21.0)
    assert verdict.finding is Finding.TOO_LITTLE_KNOWN
    assert verdict.errand is Errand.READ_PICTURES
    assert "not yet pulled" in " ".join(verdict.sentences)


def test_a_scrape_without_a_camera_asks_for_nothing():
    verdict = judged(visits=0, camera_nights=0.0, use_nights=0.0)
    assert verdict.finding is Finding.TOO_LITTLE_KNOWN
    assert verdict.errand is Errand.NONE


def triggers(in_window, *, before=252):
    return OtherTriggers(
        before=before, nights_before=42.0, in_window=in_window, nights_in_window=21.0
    )


def test_a_camera_that_dies_slowly_is_told_by_all_else_that_triggers_it():
    """Deer at a third of what was expected, and squirrels at a third of what was usual."""
    verdict = judged(visits=10, other_triggers=triggers(42))
    assert verdict.finding is Finding.CAMERA
    assert verdict.errand is Errand.CHECK_CAMERA
    assert "grown over" in " ".join(verdict.sentences)


def test_deer_that_fell_further_than_all_else_are_a_drop():
    assert judged(visits=1, other_triggers=triggers(76)).finding is Finding.DROP


def test_squirrels_as_busy_as_ever_say_that_the_camera_works():
    verdict = judged(other_triggers=triggers(126))
    assert verdict.finding is Finding.DROP
    assert verdict.answers[2].holds is False


def test_a_camera_that_little_else_triggers_is_not_judged_by_it():
    verdict = judged(other_triggers=triggers(2, before=12))
    assert verdict.finding is Finding.DROP
    assert verdict.answers[2].holds is None


def test_a_storm_over_the_whole_property_is_no_cameras_fault():
    others = tuple(other(name, 9) for name in ("creek", "saddle", "bench"))
    assert judged(visits=10, others=others).finding is Finding.WHOLE_PROPERTY
    stormy = judged(visits=10, others=others, other_triggers=triggers(42))
    assert stormy.finding is Finding.WHOLE_PROPERTY


def test_the_questions_come_in_their_order_and_the_camera_comes_first():
    verdict = judged(
        cameras=(camera("north", dead=True),),
        others=tuple(other(name, 9) for name in ("creek", "saddle", "bench")),
        untagged_events=40,
    )
    assert [answer.code for answer in verdict.answers] == [
        Finding.CAMERA,
        Finding.WHOLE_PROPERTY,
        Finding.CAMERA,
        Finding.SAME_SIGNPOST,
        Finding.BUCK_TAKEN,
        Finding.DAYLIGHT_ONLY,
        Finding.TOO_LITTLE_KNOWN,
    ]
    assert verdict.finding is Finding.CAMERA


def test_the_running_sum_is_shown_beside_the_finding():
    signal = watch_for_fall([0] * 20, [2.0] * 20, settings=CusumSettings())
    verdict = judged(cusum=signal)
    assert verdict.cusum is signal
    assert signal.signals
    assert signal.first_signal == 3


def test_the_running_sum_stays_quiet_while_visits_are_as_expected():
    signal = watch_for_fall([2] * 60, [2.0] * 60, settings=CusumSettings())
    assert signal.value == 0
    assert signal.first_signal is None


def test_without_extra_spread_the_prediction_is_the_gamma_poisson_one():
    base = GammaRate(shape=4.0, rate=2.0)
    prediction = predict(base, use_nights=3.0, dispersion=1.0)
    exact = stats.nbinom.cdf(2, 4.0, 2.0 / (2.0 + 3.0))
    assert prediction.chance_of_at_most(2) == pytest.approx(exact)


def test_the_tail_agrees_with_drawing_from_the_model():
    rng = np.random.default_rng(11)
    rates = rng.gamma(BASE.shape, 1 / BASE.rate, size=200_000)
    mean = rates * 15
    counts = rng.negative_binomial(mean / 0.5, 1 / 1.5)
    prediction = predict(BASE, use_nights=15.0, dispersion=1.5)
    assert prediction.mean == pytest.approx(counts.mean(), rel=0.01)
    assert prediction.variance == pytest.approx(counts.var(), rel=0.02)
    assert prediction.chance_of_at_most(18) == pytest.approx((counts <= 18).mean(), abs=0.004)


@settings(max_examples=40, deadline=None)
@given(visits=st.integers(0, 40), nights=st.floats(0.1, 40), more=st.floats(1.0, 3.0))
def test_more_spread_never_makes_few_visits_less_likely(visits, nights, more):
    plain = predict(BASE, use_nights=nights, dispersion=1.0)
    spread = predict(BASE, use_nights=nights, dispersion=more)
    if visits <= 0.7 * plain.mean:
        assert spread.chance_of_at_most(visits) >= plain.chance_of_at_most(visits) - 1e-9


def test_several_scrapes_together_are_surer_than_one():
    one = predict(BASE, use_nights=5.0, dispersion=1.5)
    four = together([one] * 4)
    assert four.mean == pytest.approx(4 * one.mean)
    assert four.variance / four.mean**2 < one.variance / one.mean**2
    assert not is_drop(one.mean, one, settings=SETTINGS)


def test_a_record_of_its_own_outweighs_what_other_scrapes_teach():
    assert base_rate(PRIOR, visits=0, use_nights=0, dispersion=1.5).mean == PRIOR.mean
    assert base_rate(PRIOR, visits=400, use_nights=100, dispersion=1.5).mean == pytest.approx(
        4, rel=0.05
    )


def test_dispersion_is_learned_from_many_nights_and_assumed_from_few():
    rng = np.random.default_rng(3)
    many = rng.negative_binomial(2 / 1.5, 1 / 2.5, size=3000)
    assert dispersion_of(many, np.ones(3000), assumed=1.5) == pytest.approx(2.5, rel=0.1)
    assert dispersion_of([1, 0], [1.0, 0.0], assumed=1.5) == 1.5
    assert dispersion_of([2] * 200, [1.0] * 200, assumed=1.5) == 1.0


def test_refuses_impossible_questions():
    with pytest.raises(ValueError, match="counts"):
        question(visits=-1)
    with pytest.raises(ValueError, match="dispersion"):
        question(dispersion=0.5)
    with pytest.raises(ValueError, match="efforts"):
        question(use_nights=-1.0)
    with pytest.raises(ValueError, match="part of all"):
        DaylightCounts(daylight_before=3, total_before=2, daylight_in_window=0, total_in_window=0)
    with pytest.raises(ValueError, match="shares"):
        TakenBuck(name="x", share_of_visits=2.0, share_of_window=1.0)

"""Have visits to a scrape dropped, and is it the scrape?

A drop is a statistical question with ordered ones after it: is the camera at fault, is the whole
property falling, has a scrape close by taken the visits over, was a buck taken that made many of
them, is it daylight alone, is it only that nobody has looked at the pictures? The first that
explains the figures decides; only what is left over is a drop of the scrape's own. Says what was
counted and claims no cause.
"""

import math

from scrapes.visits.drop_model import Prediction, is_drop, predict
from scrapes.visits.drop_question import (
    ERRAND_FOR,
    Answer,
    DropQuestion,
    DropVerdict,
    Errand,
    Finding,
)
from scrapes.visits.explanations import QUESTIONS, property_ratio, unnamed_bucks
from scrapes.visits.settings import DropSettings


def judge_drop(question: DropQuestion, *, settings: DropSettings) -> DropVerdict:
    """Judge one scrape's window; every figure and every answer comes back with the finding."""
    prediction = predict(
        question.base,
        use_nights=question.use_nights,
        dispersion=question.dispersion,
        curve_variance=question.curve_variance,
    )
    answers = tuple(ask(question, prediction, settings) for ask in QUESTIONS)
    fallen = is_drop(question.visits, prediction, settings=settings)
    finding = _finding(question, answers, fallen=fallen, settings=settings)
    low, high = question.base.limits(confidence=0.9)
    expected_low, expected_high = prediction.limits()
    return DropVerdict(
        scrape=question.scrape,
        finding=finding,
        errand=_errand(question, finding),
        visits=question.visits,
        expected=prediction.mean,
        expected_low=expected_low,
        expected_high=expected_high,
        ratio=_ratio(question.visits, prediction.mean),
        chance=prediction.chance_of_at_most(question.visits),
        could_show=prediction.chance_of_at_most(0) < settings.chance_below,
        camera_nights=question.camera_nights,
        unread_nights=question.unread_nights,
        season_level=_ratio(question.use_nights, question.camera_nights),
        base_rate_per_night=question.base.mean,
        base_rate_low=low,
        base_rate_high=high,
        dispersion=question.dispersion,
        curve_variance=question.curve_variance,
        untagged_events=question.untagged_events,
        property_ratio=property_ratio(question),
        cusum=question.cusum,
        answers=answers,
        sentences=(
            _counted(question, prediction, settings),
            *(answer.sentence for answer in answers if answer.holds),
            _concluded(question, finding),
        ),
    )


def _finding(
    question: DropQuestion,
    answers: tuple[Answer, ...],
    *,
    fallen: bool,
    settings: DropSettings,
) -> Finding:
    held = {answer.code for answer in answers if answer.holds}
    if question.camera_nights < settings.minimum_nights:
        return Finding.CAMERA if Finding.CAMERA in held else Finding.TOO_LITTLE_KNOWN
    if not fallen:
        return Finding.DAYLIGHT_ONLY if Finding.DAYLIGHT_ONLY in held else Finding.NO_DROP
    return next((answer.code for answer in answers if answer.holds), Finding.DROP)


def _errand(question: DropQuestion, finding: Finding) -> Errand:
    unread = question.untagged_events > 0 or question.unread_nights > 0
    if finding is Finding.TOO_LITTLE_KNOWN and not unread:
        return Errand.NONE
    return ERRAND_FOR[finding]


_CONCLUSION = {
    Finding.NO_DROP: "No drop: leave the scrape alone.",
    Finding.TOO_LITTLE_KNOWN: "Too little is known to judge.",
    Finding.CAMERA: "See to the camera first; the deer cannot be judged.",
    Finding.WHOLE_PROPERTY: "It is not this scrape: one notice for the property.",
    Finding.SAME_SIGNPOST: "The visits moved within one signpost; nothing to do.",
    Finding.BUCK_TAKEN: "The buck that is gone explains it; nothing to do.",
    Finding.DAYLIGHT_ONLY: "Deer still come, but not in daylight: rest the stand, add no scent.",
    Finding.DROP: "Visits fell at this scrape and nothing asked here explains it.",
}


def _concluded(question: DropQuestion, finding: Finding) -> str:
    """A drop that a buck might explain, if one knew which it was, is not told without saying so."""
    if finding is Finding.DROP and question.bucks_unnamed:
        return f"{_CONCLUSION[finding]} {unnamed_bucks(question)}"
    return _CONCLUSION[finding]


def _ratio(part: float, whole: float) -> float:
    return part / whole if whole > 0 else math.nan


def _counted(question: DropQuestion, prediction: Prediction, settings: DropSettings) -> str:
    low, high = prediction.limits()
    chance = 100 * prediction.chance_of_at_most(question.visits)
    said = "less than 0.1" if chance < 0.1 else f"{chance:.1f}"
    sentence = (
        f"{question.visits} visits in {question.camera_nights:.1f} camera-nights; "
        f"{prediction.mean:.1f} were expected for the season (mostly {low} to {high}). "
        f"So few or fewer come by chance {said} times in 100."
    )
    if prediction.chance_of_at_most(0) >= settings.chance_below:
        sentence += " So little is expected that even no visit at all would not be unusual."
    return sentence

"""What may explain fewer visits before the scrape itself does, one question a function.

Each answers whether its explanation holds, with the figures it was judged by; None where nothing
was there to judge by. They stand in the order in which they are asked.
"""

from collections.abc import Callable

from scipy import stats

from scrapes.cameras.health import CameraState
from scrapes.visits.drop_model import Prediction, base_rate, is_drop, predict, together
from scrapes.visits.drop_question import Answer, DropQuestion, Finding
from scrapes.visits.rates import GammaRate
from scrapes.visits.settings import DropSettings


def property_ratio(question: DropQuestion) -> float | None:
    """Visits over expected of the property's other scrapes; None where nothing is expected."""
    expected = sum(other.prediction.mean for other in question.others)
    return sum(other.visits for other in question.others) / expected if expected > 0 else None


def unnamed_bucks(question: DropQuestion) -> str:
    """What can be said of bucks taken near by of which nobody knows which ones they were."""
    many = question.bucks_unnamed > 1
    return (
        f"{question.bucks_unnamed} antlered deer {'were' if many else 'was'} taken near by in the "
        f"window; whether {'they' if many else 'it'} came to this scrape is not known."
    )


def _camera_at_fault(
    question: DropQuestion, prediction: Prediction, settings: DropSettings
) -> Answer:
    """Only when no camera is left to speak for the scrape: one of two dying hides nothing."""
    asked = "Is the camera at fault?"
    judged = [camera for camera in question.cameras if camera.state is not CameraState.UNKNOWN]
    if not judged:
        return Answer(
            code=Finding.CAMERA,
            question=asked,
            holds=None,
            sentence="Nothing is known of the cameras' condition.",
        )
    faulty = [camera for camera in judged if camera.hides_visits]
    reasons = [
        f"{camera.camera}: {finding.sentence}"
        for camera in faulty
        for finding in camera.findings
        if finding.hides_visits
    ]
    if len(faulty) < len(judged):
        sentence = "A camera that works watches the scrape; what it saw is what counts."
    else:
        sentence = " ".join(reasons)
    return Answer(
        code=Finding.CAMERA,
        question=asked,
        holds=len(faulty) == len(judged),
        sentence=sentence,
        facts={"cameras": len(judged), "at_fault": len(faulty), "reasons": reasons},
    )


def _whole_property(
    question: DropQuestion, prediction: Prediction, settings: DropSettings
) -> Answer:
    """Holds when the others fell too and this scrape fell no further than they explain."""
    asked = "Is the whole property falling?"
    ratio = property_ratio(question)
    if ratio is None or len(question.others) < settings.property_minimum_scrapes:
        return Answer(
            code=Finding.WHOLE_PROPERTY,
            question=asked,
            holds=None,
            sentence="Too few other scrapes are known to compare with.",
            facts={"scrapes": len(question.others)},
        )
    visits = sum(other.visits for other in question.others)
    pooled = together(other.prediction for other in question.others)
    chance = pooled.chance_of_at_most(visits)
    falling = ratio < settings.property_ratio_below and chance < settings.property_chance_below
    own = is_drop(question.visits, prediction.scaled(min(ratio, 1.0)), settings=settings)
    sentence = (
        f"The other {len(question.others)} scrapes of the property had {visits} visits where "
        f"{pooled.mean:.1f} were expected."
    )
    if falling and own:
        sentence += " This scrape fell further than they did."
    return Answer(
        code=Finding.WHOLE_PROPERTY,
        question=asked,
        holds=falling and not own,
        sentence=sentence,
        facts={
            "scrapes": len(question.others),
            "visits": visits,
            "expected": pooled.mean,
            "ratio": ratio,
            "chance": chance,
        },
    )


def _everything_fell(
    question: DropQuestion, prediction: Prediction, settings: DropSettings
) -> Answer:
    """Holds when all else that triggers the camera fell too, and deer no further than that: a
    camera that dies slowly, a lens grown over. Asked after the whole property: a storm is no
    camera's fault."""
    asked = "Did everything that triggers the camera fall?"
    told = question.other_triggers
    if told is None or told.before < settings.minimum_triggers or not told.nights_in_window:
        return Answer(
            code=Finding.CAMERA,
            question=asked,
            holds=None,
            sentence="Too little else triggers the camera to tell by.",
        )
    worth_one = GammaRate(shape=1.0, rate=told.nights_before / told.before)
    usual = predict(
        base_rate(
            worth_one,
            visits=told.before,
            use_nights=told.nights_before,
            dispersion=question.dispersion,
        ),
        use_nights=told.nights_in_window,
        dispersion=question.dispersion,
    )
    fell = is_drop(told.in_window, usual, settings=settings)
    ratio = min(told.in_window / usual.mean, 1.0)
    own = is_drop(question.visits, prediction.scaled(ratio), settings=settings)
    sentence = (
        f"Everything else triggered the camera {told.in_window} times, where {usual.mean:.1f} "
        "were usual just before."
    )
    if fell:
        sentence += (
            " Deer fell further than that."
            if own
            else " Deer fell no further: the camera may be failing, or its view be grown over."
        )
    return Answer(
        code=Finding.CAMERA,
        question=asked,
        holds=fell and not own,
        sentence=sentence,
        facts={"triggers": told.in_window, "usual": usual.mean, "ratio": ratio},
    )


def _same_signpost(
    question: DropQuestion, prediction: Prediction, settings: DropSettings
) -> Answer:
    """Holds when this scrape and those close by, taken as one, have not dropped."""
    asked = "Has a scrape close by taken the visits over?"
    near = [other for other in question.others if other.distance_m <= settings.signpost_distance_m]
    if not near:
        return Answer(
            code=Finding.SAME_SIGNPOST,
            question=asked,
            holds=None,
            sentence=f"No other scrape lies within {settings.signpost_distance_m:.0f} m.",
        )
    visits = question.visits + sum(other.visits for other in near)
    pooled = together([prediction, *(other.prediction for other in near)])
    gained = any(other.visits > other.prediction.mean for other in near)
    names = ", ".join(other.name for other in near)
    return Answer(
        code=Finding.SAME_SIGNPOST,
        question=asked,
        holds=gained and not is_drop(visits, pooled, settings=settings),
        sentence=f"Together with {names}, close enough to be one signpost, there were {visits} "
        f"visits where {pooled.mean:.1f} were expected.",
        facts={
            "scrapes": [other.name for other in near],
            "visits": visits,
            "expected": pooled.mean,
            "chance": pooled.chance_of_at_most(visits),
        },
    )


def _buck_taken(question: DropQuestion, prediction: Prediction, settings: DropSettings) -> Answer:
    """Holds when without the taken bucks' share the rest is no drop any more."""
    asked = "Was a buck taken that made many of the visits?"
    if not question.bucks_taken and question.bucks_unnamed:
        return Answer(
            code=Finding.BUCK_TAKEN,
            question=asked,
            holds=None,
            sentence=unnamed_bucks(question),
            facts={"bucks_unnamed": question.bucks_unnamed},
        )
    if not question.bucks_taken:
        return Answer(
            code=Finding.BUCK_TAKEN,
            question=asked,
            holds=False,
            sentence="No buck known from this scrape was taken.",
        )
    lost = min(
        1.0, sum(buck.share_of_visits * buck.share_of_window for buck in question.bucks_taken)
    )
    rest = prediction.scaled(1 - lost)
    fallen = is_drop(question.visits, prediction, settings=settings)
    names = ", ".join(buck.name for buck in question.bucks_taken)
    return Answer(
        code=Finding.BUCK_TAKEN,
        question=asked,
        holds=fallen and not is_drop(question.visits, rest, settings=settings),
        sentence=f"{names}, taken since, would have made {100 * lost:.0f} % of the window's "
        f"visits; without, {rest.mean:.1f} were to be expected.",
        facts={"bucks": names, "share_lost": lost, "expected_without": rest.mean},
    )


def _daylight_only(
    question: DropQuestion, prediction: Prediction, settings: DropSettings
) -> Answer:
    """Holds when the total stands and the share in shooting light fell (beta-binomial tail)."""
    asked = "Is it the visits in daylight alone?"
    light = question.daylight
    if light is None or light.total_before == 0 or light.total_in_window == 0:
        return Answer(
            code=Finding.DAYLIGHT_ONLY,
            question=asked,
            holds=None,
            sentence="Too few visits with a known hour.",
        )
    share = (light.daylight_before + 1) / (light.total_before + 2)
    chance = float(
        stats.betabinom.cdf(
            light.daylight_in_window,
            light.total_in_window,
            light.daylight_before + 1,
            light.total_before - light.daylight_before + 1,
        )
    )
    expected = share * light.total_in_window
    fell = (
        chance < settings.chance_below
        and light.daylight_in_window < settings.ratio_below * expected
    )
    total_stands = not is_drop(question.visits, prediction, settings=settings)
    return Answer(
        code=Finding.DAYLIGHT_ONLY,
        question=asked,
        holds=fell and total_stands,
        sentence=f"{light.daylight_in_window} of {light.total_in_window} visits came in shooting "
        f"light, where about {expected:.1f} were expected.",
        facts={
            "daylight_visits": light.daylight_in_window,
            "expected": expected,
            "chance": chance,
        },
    )


def _pictures_unread(
    question: DropQuestion, prediction: Prediction, settings: DropSettings
) -> Answer:
    """Unknown is not nought: holds when the untagged pictures could undo the drop."""
    asked = "Have all pictures been pulled and read?"
    at_most = question.visits + question.untagged_events
    unread = question.untagged_events > 0 and not is_drop(at_most, prediction, settings=settings)
    thin = question.camera_nights < settings.minimum_nights
    parts = []
    if question.untagged_events:
        parts.append(f"{question.untagged_events} events of the window nobody has tagged yet")
    if question.unread_nights:
        parts.append(f"{question.unread_nights:.1f} camera-nights lie on a card not yet pulled")
    sentence = "; ".join(parts) + "." if parts else "All pictures of the watched nights are read."
    if thin:
        sentence += f" Only {question.camera_nights:.1f} camera-nights are known."
    return Answer(
        code=Finding.TOO_LITTLE_KNOWN,
        question=asked,
        holds=unread or thin,
        sentence=sentence,
        facts={
            "untagged_events": question.untagged_events,
            "unread_nights": question.unread_nights,
            "visits_at_most": at_most,
        },
    )


QUESTIONS: tuple[Callable[[DropQuestion, Prediction, DropSettings], Answer], ...] = (
    _camera_at_fault,
    _whole_property,
    _everything_fell,
    _same_signpost,
    _buck_taken,
    _daylight_only,
    _pictures_unread,
)

"""What the drop test is asked, and what it answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from scrapes.cameras.health import CameraHealth
from scrapes.visits.cusum import CusumSignal
from scrapes.visits.drop_model import Prediction
from scrapes.visits.rates import GammaRate


class Finding(StrEnum):
    """What the figures say, the nearest explanation first."""

    NO_DROP = "no_drop"
    TOO_LITTLE_KNOWN = "too_little_known"
    CAMERA = "camera"
    WHOLE_PROPERTY = "whole_property"
    SAME_SIGNPOST = "same_signpost"
    BUCK_TAKEN = "buck_taken"
    DAYLIGHT_ONLY = "daylight_only"
    DROP = "drop"


class Errand(StrEnum):
    """What to do about it. Only a drop of the scrape's own leads to scent."""

    NONE = "none"
    CHECK_CAMERA = "check_camera"
    READ_PICTURES = "read_pictures"
    TELL_MANAGER = "tell_manager"
    REST_STAND = "rest_stand"
    REFRESH_SCRAPE = "refresh_scrape"


ERRAND_FOR: Mapping[Finding, Errand] = {
    Finding.NO_DROP: Errand.NONE,
    Finding.TOO_LITTLE_KNOWN: Errand.READ_PICTURES,
    Finding.CAMERA: Errand.CHECK_CAMERA,
    Finding.WHOLE_PROPERTY: Errand.TELL_MANAGER,
    Finding.SAME_SIGNPOST: Errand.NONE,
    Finding.BUCK_TAKEN: Errand.NONE,
    Finding.DAYLIGHT_ONLY: Errand.REST_STAND,
    Finding.DROP: Errand.REFRESH_SCRAPE,
}


@dataclass(frozen=True, kw_only=True)
class OtherScrape:
    """Another scrape of the property in the same window; only such as are fully known."""

    name: str
    visits: int
    prediction: Prediction
    distance_m: float


@dataclass(frozen=True, kw_only=True)
class TakenBuck:
    """A buck that was shot: his share of the scrape's visits before, and the share of the window's
    effort that came after his death."""

    name: str
    share_of_visits: float
    share_of_window: float

    def __post_init__(self) -> None:
        if not (0 <= self.share_of_visits <= 1 and 0 <= self.share_of_window <= 1):
            raise ValueError("shares lie between 0 and 1")


@dataclass(frozen=True, kw_only=True)
class DaylightCounts:
    """Visits in shooting light among all visits, before the window and in it."""

    daylight_before: int
    total_before: int
    daylight_in_window: int
    total_in_window: int

    def __post_init__(self) -> None:
        if not (
            0 <= self.daylight_before <= self.total_before
            and 0 <= self.daylight_in_window <= self.total_in_window
        ):
            raise ValueError("visits in daylight are part of all visits")


@dataclass(frozen=True, kw_only=True)
class OtherTriggers:
    """Events of everything that is neither deer nor people (other animals, empty pictures), and
    the camera-nights they came in, shortly before the window and in it."""

    before: int
    nights_before: float
    in_window: int
    nights_in_window: float

    def __post_init__(self) -> None:
        if min(self.before, self.nights_before, self.in_window, self.nights_in_window) < 0:
            raise ValueError("counts and camera-nights must not be negative")


@dataclass(frozen=True, kw_only=True)
class DropQuestion:
    """One scrape and one window of time.

    ``camera_nights`` were watched and read, ``unread_nights`` lie behind a card not yet pulled.
    ``use_nights`` are ``camera_nights`` weighted by the season. ``base`` must come from before the
    window and from the present camera set-up: a camera moved or turned starts anew.
    ``curve_variance`` is the relative variance of what is expected from not knowing the curve.
    ``untagged_events`` are triggers of the window in which nobody has yet said what was seen.
    ``bucks_unnamed`` were taken near by in the window, nobody knows which of those seen they were.
    """

    scrape: str
    visits: int
    camera_nights: float
    unread_nights: float = 0.0
    use_nights: float
    base: GammaRate
    dispersion: float
    curve_variance: float = 0.0
    untagged_events: int = 0
    cameras: tuple[CameraHealth, ...] = ()
    others: tuple[OtherScrape, ...] = ()
    bucks_taken: tuple[TakenBuck, ...] = ()
    bucks_unnamed: int = 0
    daylight: DaylightCounts | None = None
    other_triggers: OtherTriggers | None = None
    cusum: CusumSignal | None = None

    def __post_init__(self) -> None:
        if min(self.visits, self.untagged_events, self.bucks_unnamed) < 0:
            raise ValueError("counts must not be negative")
        if min(self.camera_nights, self.unread_nights, self.use_nights) < 0:
            raise ValueError("efforts must not be negative")
        if self.curve_variance < 0:
            raise ValueError("a variance must not be negative")
        if self.dispersion < 1:
            raise ValueError("dispersion must be at least 1")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One question of the ladder. ``holds`` is None where nothing was there to judge by."""

    code: Finding
    question: str
    holds: bool | None
    sentence: str
    facts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class DropVerdict:
    """The finding with every figure behind it.

    ``chance`` is that of seeing so few or fewer, ``ratio`` visits over expected (NaN where nothing
    is expected). ``could_show`` says whether even no visit at all would have been unusual.
    ``answers`` stand in the order asked; ``sentences`` can be shown as they are.
    """

    scrape: str
    finding: Finding
    errand: Errand
    visits: int
    expected: float
    expected_low: int
    expected_high: int
    ratio: float
    chance: float
    could_show: bool
    camera_nights: float
    unread_nights: float
    season_level: float
    base_rate_per_night: float
    base_rate_low: float
    base_rate_high: float
    dispersion: float
    curve_variance: float
    untagged_events: int
    property_ratio: float | None
    cusum: CusumSignal | None
    answers: tuple[Answer, ...]
    sentences: tuple[str, ...]

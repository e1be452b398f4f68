"""Settings of booking and the hunt day that no rule of ``scheduling/rules`` owns."""

from dataclasses import dataclass
from datetime import date

from properties.land.settings import InvalidSetting, check_weekdays, setting
from properties.land.years import checked_month_day

GROUP = "sits"


@dataclass(frozen=True, kw_only=True)
class SitSettings:
    """What a cooperative, property or stand may change about sits. All common practice."""

    required_papers: tuple[str, ...] = setting(
        ("licence", "waiver"),
        description="Kinds of paper that a member holds, valid on the day of the sit. "
        "Common practice, no source; what the law asks for is the state's to say.",
    )
    required_guest_papers: tuple[str, ...] = setting(
        ("licence", "waiver"),
        description="Kinds of paper that a guest holds, valid on the day of the sit. "
        "Common practice, no source.",
    )
    supervising_papers: tuple[str, ...] = setting(
        ("licence",),
        description="Kinds of paper that an adult holds who supervises a young hunter, valid on "
        "the day. Common practice, no source; what the law asks for is the state's to say.",
    )
    youths_an_adult: int = setting(
        1,
        minimum=1,
        maximum=4,
        description="Young hunters that one adult supervises at once. Common practice, no "
        "source; local law comes first.",
    )
    dark_dates: tuple[str, ...] = setting(
        (),
        description="Dates (YYYY-MM-DD) on which nobody sits on the property, beside the dark "
        "weekdays of the house rules. Common practice, no source.",
    )
    rest_more_after_disturbance_days: int = setting(
        2,
        unit="d",
        minimum=0,
        maximum=30,
        description="How much longer a stand rests after a sit that alarmed deer, in which a "
        "shot was fired, or of which a deer was tracked. Common practice, no source.",
    )
    rest_less_after_clean_sit_days: int = setting(
        1,
        unit="d",
        minimum=0,
        maximum=30,
        description="How much shorter a stand rests after a sit whose report names no deer "
        "alarmed and no shot. Common practice, no source.",
    )
    check_in_opens_h: float = setting(
        3.0,
        unit="h",
        minimum=0,
        maximum=24,
        description="How long before the session's window a hunter may check in. "
        "Common practice, no source.",
    )
    overdue_margin_min: float = setting(
        30.0,
        unit="min",
        minimum=0,
        maximum=360,
        description="How long after the end of a sit (the hunting light of its session and the "
        "walk out), or after the time that a hunter said to be back by, its hunter is asked "
        "whether all is well. Common practice, no source.",
    )
    overdue_step_min: float = setting(
        30.0,
        unit="min",
        minimum=5,
        maximum=360,
        description="How long each question of the overdue ladder waits for an answer before "
        "the next is asked: the hunter, then the managers, then the call to the emergency "
        "contact. Common practice, no source.",
    )
    tracking_longest_h: float = setting(
        12.0,
        unit="h",
        minimum=1,
        maximum=24,
        description="How far ahead somebody who tracks a deer may say to be back. "
        "Common practice, no source.",
    )
    waiting_books_until_h: float = setting(
        24.0,
        unit="h",
        minimum=0,
        maximum=336,
        description="Up to so long before a session the waiting list books a freed seat at "
        "once for whoever is next; nearer to it the seat is held for them until they confirm. "
        "Common practice, no source.",
    )
    waiting_answer_min: float = setting(
        60.0,
        unit="min",
        minimum=5,
        maximum=1_440,
        description="How long a seat is held for somebody on the waiting list who has to "
        "confirm, and never beyond the end of booking. Common practice, no source.",
    )
    prime_opening_days: int = setting(
        2,
        unit="d",
        minimum=0,
        maximum=14,
        description="The first days of each season that count as prime where what members got "
        "is compared. Common practice, no source.",
    )
    prime_weekdays: tuple[int, ...] = setting(
        (6, 7),
        description="Weekdays that count as prime, as ISO numbers (1 Monday to 7 Sunday). "
        "Common practice, no source.",
    )
    rut_from: str = setting(
        "11-01",
        description="First day (MM-DD) of the rut, whose sits count as prime; it differs by "
        "latitude and herd. Common practice, no source.",
    )
    rut_until: str = setting(
        "11-20",
        description="Last day (MM-DD) of the rut. Common practice, no source.",
    )
    season_year_first_month: int = setting(
        7,
        minimum=1,
        maximum=12,
        description="Month in which the year of a harvest plan begins, so that one season is "
        "counted whole. Common practice, no source.",
    )
    regulations_url: str = setting(
        "",
        description="The state's own page on hunting regulations, shown at check-in; its rules "
        "on orange clothing come from there and from nowhere else.",
    )

    def __post_init__(self) -> None:
        for name in ("required_papers", "required_guest_papers", "supervising_papers"):
            if not all(isinstance(kind, str) and kind for kind in getattr(self, name)):
                raise InvalidSetting(f"{GROUP}/{name}", "must be a list of kinds of paper")
        for name in ("rut_from", "rut_until"):
            try:
                checked_month_day(getattr(self, name))
            except ValueError:
                raise InvalidSetting(f"{GROUP}/{name}", "must be a day MM-DD") from None
        check_weekdays(f"{GROUP}/prime_weekdays", self.prime_weekdays)
        for text in self.dark_dates:
            if _date_in(text) is None:
                raise InvalidSetting(f"{GROUP}/dark_dates", f"{text!r} is no date YYYY-MM-DD")

    @property
    def dark_days(self) -> frozenset[date]:
        return frozenset(day for text in self.dark_dates if (day := _date_in(text)))


def _date_in(text: object) -> date | None:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        return None

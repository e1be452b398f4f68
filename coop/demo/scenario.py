"""Names and numbers of the invented cooperative; everything hangs on days from today.

The season's peak of breeding lies a little ahead of today, since then scrapes are used most,
sits are wanted most and every part of the software has something to say.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

TIME_ZONE = "America/Chicago"
SEED = 20_071_113
"""Of every random draw; the layout in days from today is the same on any today."""

COOPERATIVE_PREFIX = "Lantern Hollow Deer Cooperative"
OUTFITTER = "Copper Fern Outfitting (invented)"
REMARK = (
    "Everything in this demo is invented: cooperative, people, properties, outfitter, deer and "
    "weather. Any likeness is chance."
)

PEAK_IN_DAYS = 10
SEASON_FROM_DAYS_AGO = 56
SEASON_UNTIL_DAYS_AHEAD = 45
RECORD_DAYS = 100
"""How far back cameras reach."""
OBSERVED_WIND_DAYS = 70
FORECAST_HOURS = 180

EXPIRED_PAPER_OF = "Wendell Ashcraft"
ASKS_TOO_MUCH = "Tobias Quell"
OWES_A_REPORT = "Ines Harrow"

SCENT = "synthetic buck gland (invented)"
SETTINGS: dict[str, dict[str, Any]] = {
    "care": {"permitted_scents": [SCENT]},
    "rotation": {"horizon_days": 7, "time_limit_s": 10.0},
    # Thick woods and broken ground: this cooperative reckons with a shorter distance.
    "wind": {"alert_distance_m": 105.0},
    "sits": {"required_papers": ["licence", "hunter_education", "waiver"]},
}
"""What this cooperative has set for itself; everything else stands at its default."""

TALLY = {"properties": 3, "stands": 25, "scrapes": 14, "cameras": 18, "members": 30}


@dataclass(frozen=True, kw_only=True)
class Calendar:
    """The demo's days: ``today`` is a local date, ``now`` an instant on it."""

    today: date
    now: datetime

    def __post_init__(self) -> None:
        if self.now.astimezone(self.zone).date() != self.today:
            raise ValueError("now must lie on today's local date")

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(TIME_ZONE)

    @property
    def midnight(self) -> datetime:
        """Today's first instant on the properties; what is known of the past ends here."""
        return datetime(self.today.year, self.today.month, self.today.day, tzinfo=self.zone)

    @property
    def cooperative_name(self) -> str:
        return f"{COOPERATIVE_PREFIX} (invented, laid out for {self.today.isoformat()})"

    @property
    def peak_of_breeding(self) -> str:
        return f"{self.day(PEAK_IN_DAYS):%m-%d}"

    @property
    def season(self) -> tuple[date, date]:
        return self.day(-SEASON_FROM_DAYS_AGO), self.day(SEASON_UNTIL_DAYS_AHEAD)

    def day(self, ahead: int) -> date:
        """A local date so many days from today; negative for the past."""
        return self.today + timedelta(days=ahead)

    def at(self, ahead: int, hour: int, minute: int = 0) -> datetime:
        """A clock time on the properties, so many days from today."""
        day = self.day(ahead)
        return datetime(day.year, day.month, day.day, hour, minute, tzinfo=self.zone)


def calendar_at(now: datetime) -> Calendar:
    return Calendar(today=now.astimezone(ZoneInfo(TIME_ZONE)).date(), now=now)


def calendar_of(today: date) -> Calendar:
    """A day chosen by hand is taken at noon."""
    noon = datetime(today.year, today.month, today.day, 12, tzinfo=ZoneInfo(TIME_ZONE))
    return Calendar(today=today, now=noon)

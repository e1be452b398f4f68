"""Every figure of one person's season: their sits, what they saw, what they took."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from coop.reports.editions import plain
from coop.reports.season.figures import Sitting, sitting_of
from coop.reports.season.rows import SatRow

RULES = (
    "present_if_checked_in",
    "hours_from_check_in_to_check_out",
    "rates_from_reported_sits",
    "deer_by_the_propertys_own_day",
)


@dataclass(frozen=True, kw_only=True)
class OwnSit:
    """One of the person's sits; deer and shots are those of its report."""

    on: date
    span: str
    property: str
    stand: str
    state: str
    hours: float | None
    is_reported: bool
    deer: int
    bucks: int
    does: int
    shots: int
    guests: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class OwnDeer:
    on: date
    property: str
    harvest_class: str


@dataclass(frozen=True, kw_only=True)
class OwnProperty:
    """What was asked for on a property and got there (booked or sat; all day counts once)."""

    property: str
    asked: int
    got: int


@dataclass(frozen=True, kw_only=True)
class OwnSeason:
    """``reports_owed`` counts sits that are over and have no report; ``coming`` booked ones."""

    person: str
    cooperative_name: str
    season_year: int
    first_on: date
    last_on: date
    time_zones: tuple[str, ...]
    cut_off_at: datetime
    together: Sitting
    reports_owed: int
    coming: int
    sits: tuple[OwnSit, ...]
    deer: tuple[OwnDeer, ...]
    properties: tuple[OwnProperty, ...]
    sources: Mapping[str, int]
    rules: tuple[str, ...]
    settings_used: Mapping[str, Any]

    def as_dict(self) -> dict[str, Any]:
        """Every figure as JSON values: dates and instants in ISO 8601."""
        return plain(self)


def together(sits: Sequence[OwnSit]) -> Sitting:
    """The sits in which the person was there, summed as a whole cooperative's are."""
    return sitting_of(
        [
            SatRow(
                person="own",
                local_date=sit.on,
                standing="member",
                hours=sit.hours,
                is_reported=sit.is_reported,
                shots=sit.shots,
                deer=sit.deer,
                bucks=sit.bucks,
                does=sit.does,
            )
            for sit in sits
        ]
    )

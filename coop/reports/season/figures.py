"""Every figure of a season's report, made from plain rows; no clock, no database, no name."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median
from typing import Any

from coop.reports.editions import digest_without, plain
from coop.reports.figures import SettingsUsed
from coop.reports.season.rows import LandSeason, SatRow, SeasonRows, ShareRow, WatchedRow
from scheduling.sits.fairness import gini

_NOT_OF_THE_SEASON = frozenset({"cooperative_name", "cut_off_at", "rules", "settings_used"})

_SETTINGS_USED = ("reports", "sits", "visits", "camera_health")

# How the counting goes, told on every edition; the sentences stand in ``sentences``.
RULES = (
    "present_if_checked_in",
    "hours_from_check_in_to_check_out",
    "rates_from_reported_sits",
    "deer_by_the_propertys_own_day",
    "visits_in_watched_time",
)


@dataclass(frozen=True, kw_only=True)
class ClassSeason:
    """Deer of one class on one property; ``planned`` is None where no plan is entered."""

    harvest_class: str
    taken: int
    planned: int | None


@dataclass(frozen=True, kw_only=True)
class Sitting:
    """Sits and what was seen from them.

    ``hours`` are those of sits with both ends known. Deer an hour are counted over reported
    sits with hours; bucks a doe over deer whose sex was told. None: nothing to divide by.
    """

    sits: int
    people: int
    guests_and_clients: int
    hours: float
    reported: int
    shots: int
    deer_seen: int
    deer_per_hour: float | None
    bucks_per_doe: float | None


@dataclass(frozen=True, kw_only=True)
class PropertySeason:
    name: str
    sitting: Sitting
    classes: tuple[ClassSeason, ...]
    closed_days: int
    incidents: int
    work: int
    watched: WatchedRow


@dataclass(frozen=True, kw_only=True)
class SeasonMonth:
    """One calendar month of the cooperative, by each property's own days."""

    month: date
    sits: int
    deer_seen: int
    deer_taken: int


@dataclass(frozen=True, kw_only=True)
class Sharing:
    """How sits were shared among members who asked or sat; ``gini`` 0: all alike."""

    members: int
    asked: int
    got: int
    without_a_sit: int
    fewest: int
    middle: float
    most: int
    gini_of_sits: float | None


@dataclass(frozen=True, kw_only=True)
class SeasonFigures:
    cooperative_name: str
    season_year: int
    first_on: date
    last_on: date
    time_zones: tuple[str, ...]
    cut_off_at: datetime
    finished: bool
    properties: tuple[PropertySeason, ...]
    together: Sitting
    months: tuple[SeasonMonth, ...]
    sharing: Sharing
    sources: Mapping[str, int]
    rules: tuple[str, ...]
    settings_used: Mapping[str, Any]

    def as_dict(self) -> dict[str, Any]:
        """Every figure as JSON values: dates and instants in ISO 8601, lengths of time in h."""
        return plain(self)


def season_figures(rows: SeasonRows, settings: SettingsUsed) -> SeasonFigures:
    """The figures of one season of one cooperative."""
    return SeasonFigures(
        cooperative_name=rows.cooperative_name,
        season_year=rows.season_year,
        first_on=rows.first_on,
        last_on=rows.last_on,
        time_zones=rows.time_zones,
        cut_off_at=rows.now,
        finished=rows.now >= rows.ends_at,
        properties=tuple(_property(land) for land in rows.lands),
        together=sitting_of([sit for land in rows.lands for sit in land.sits]),
        months=_months(rows),
        sharing=_sharing(rows.shares),
        sources={
            "sits": sum(len(land.sits) for land in rows.lands),
            "sit_reports": sum(sit.is_reported for land in rows.lands for sit in land.sits),
            "deer_taken": sum(len(land.taken) for land in rows.lands),
            "work_records": sum(land.work for land in rows.lands),
            "manager_notes": sum(sum(land.notes.values()) for land in rows.lands),
        },
        rules=RULES,
        settings_used={group: settings.as_told()[group] for group in _SETTINGS_USED},
    )


def digest_of(figures: Mapping[str, Any]) -> str:
    """SHA-256 of what the figures say about the season itself."""
    return digest_without(figures, _NOT_OF_THE_SEASON)


def _property(land: LandSeason) -> PropertySeason:
    taken = Counter(kind for kind, _on in land.taken)
    return PropertySeason(
        name=land.name,
        sitting=sitting_of(land.sits),
        classes=tuple(
            ClassSeason(harvest_class=kind, taken=taken[kind], planned=land.plan.get(kind))
            for kind in sorted(set(taken) | set(land.plan))
        ),
        closed_days=land.closed_days,
        incidents=sum(count for topic, count in land.notes.items() if topic != "work"),
        work=land.work + land.notes.get("work", 0),
        watched=land.watched,
    )


def sitting_of(sits: Sequence[SatRow]) -> Sitting:
    """Sums over sits: hours to a tenth; ratios None where nothing stands below the line."""
    hours = [(sit.hours, sit.deer) for sit in sits if sit.is_reported and sit.hours is not None]
    told_hours = sum(length for length, _deer in hours)
    does = sum(sit.does for sit in sits)
    return Sitting(
        sits=len(sits),
        people=len({sit.person for sit in sits}),
        guests_and_clients=len({sit.person for sit in sits if sit.standing != "member"}),
        hours=round(sum(sit.hours or 0.0 for sit in sits), 1),
        reported=sum(sit.is_reported for sit in sits),
        shots=sum(sit.shots for sit in sits),
        deer_seen=sum(sit.deer for sit in sits),
        deer_per_hour=_ratio(sum(deer for _length, deer in hours), told_hours),
        bucks_per_doe=_ratio(sum(sit.bucks for sit in sits), does),
    )


def _ratio(over: float, under: float) -> float | None:
    return round(over / under, 2) if under > 0 else None


def _months(rows: SeasonRows) -> tuple[SeasonMonth, ...]:
    sits: Counter[date] = Counter()
    seen: Counter[date] = Counter()
    taken: Counter[date] = Counter()
    for land in rows.lands:
        for sit in land.sits:
            sits[sit.local_date.replace(day=1)] += 1
            seen[sit.local_date.replace(day=1)] += sit.deer
        taken.update(on.replace(day=1) for _kind, on in land.taken)
    return tuple(
        SeasonMonth(month=month, sits=sits[month], deer_seen=seen[month], deer_taken=taken[month])
        for month in _months_from(rows.first_on)
    )


def _months_from(first: date) -> Iterable[date]:
    for offset in range(12):
        year, month = divmod(first.year * 12 + first.month - 1 + offset, 12)
        yield date(year, month + 1, 1)


def _sharing(shares: Sequence[ShareRow]) -> Sharing:
    counted = [share for share in shares if share.asked or share.got]
    got = [share.got for share in counted]
    return Sharing(
        members=len(counted),
        asked=sum(share.asked for share in counted),
        got=sum(got),
        without_a_sit=sum(not count for count in got),
        fewest=min(got, default=0),
        middle=float(median(got)) if got else 0.0,
        most=max(got, default=0),
        gini_of_sits=_rounded(gini([share.got / share.weight for share in counted])),
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)

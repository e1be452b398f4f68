"""The figures of one scrape over some days: visits, effort, rate, expected, who came and when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from uuid import UUID

import numpy as np

from scrapes.cameras.health import CameraHealth
from scrapes.visits.activity import Activity, activity
from scrapes.visits.drop_model import Prediction, predict
from scrapes.visits.effort import clipped, covered
from scrapes.visits.pictures import (
    Individual,
    individuals_of,
    visits_by_class,
    visits_by_species,
)
from scrapes.visits.rates import GammaRate, Rate, visit_rate
from scrapes.visits.scrape_records import (
    Learned,
    ScrapeRecord,
    SettingsInForce,
    learned,
    prior_of,
)


@dataclass(frozen=True, kw_only=True)
class NightCount:
    """One local day of a scrape."""

    on: date
    visits: int
    camera_nights: float
    expected: float


@dataclass(frozen=True, kw_only=True)
class ScrapeVisits:
    """One scrape from ``first_on`` to ``last_on``, both local dates included.

    ``expected`` is the base rate (its own record before ``first_on``, held against the
    cooperative's other scrapes) times season times effort, with the counts between which nine
    windows in ten lie; None where nothing was watched. ``by_class`` may add up to more than the
    visits. ``light_share`` is the share of visits in the property's shooting light, None without
    visits.
    """

    scrape_id: UUID
    name: str
    property_id: UUID
    first_on: date
    last_on: date
    rate: Rate
    expected: float | None
    expected_low: int | None
    expected_high: int | None
    base_rate_per_night: float
    by_class: Mapping[str, int]
    by_species: Mapping[str, int]
    individuals: tuple[Individual, ...]
    in_shooting_light: int
    light_share: float | None
    first_at: datetime | None
    last_at: datetime | None
    untagged_events: int
    unread_nights: float
    cameras: tuple[CameraHealth, ...]
    nights: tuple[NightCount, ...]
    activity: Activity | None


@dataclass(frozen=True, kw_only=True)
class _Window:
    """Days ``first`` up to ``after`` of the records, and the instants they span."""

    first: int
    after: int
    start_s: int
    end_s: int


def figures_of(
    records: Sequence[ScrapeRecord], *, first_on: date, property_id: UUID, settings: SettingsInForce
) -> tuple[ScrapeVisits, ...]:
    """Figures of one property's scrapes from ``first_on`` to the records' last day.

    ``records`` are those of the whole cooperative; all but the scrape's own make its prior.
    """
    before = [_before(record, first_on, settings) for record in records]
    return tuple(
        _figures(
            record,
            own=before[index],
            prior=prior_of(before[:index] + before[index + 1 :], drop=settings.drop),
            first_on=first_on,
            settings=settings,
        )
        for index, record in enumerate(records)
        if record.scrape.property_id == property_id
    )


def _before(record: ScrapeRecord, first_on: date, settings: SettingsInForce) -> Learned:
    since = record.baseline_from(settings.drop)
    first = record.days.index_of(first_on)
    return learned(record.nightly, first=since, after=first, drop=settings.drop)


def _figures(
    record: ScrapeRecord,
    *,
    own: Learned,
    prior: GammaRate,
    first_on: date,
    settings: SettingsInForce,
) -> ScrapeVisits:
    first, after = record.days.index_of(first_on), len(record.days)
    window = _Window(
        first=first,
        after=after,
        start_s=record.days.span_s(first, after)[0],
        end_s=record.days.span_s(first, after)[1],
    )
    visits = record.visits_between(window.start_s, window.end_s)
    base = own.base(prior)
    nights = slice(first, after)
    camera_nights = float(record.nightly.camera_nights[nights].sum())
    expected = (
        predict(
            base,
            use_nights=float(record.nightly.use_nights[nights].sum()),
            dispersion=own.dispersion,
        )
        if camera_nights > 0
        else None
    )
    low, high = _limits(expected)
    lit = int(covered(visits.start_s, record.days.light).sum())
    deer = record.deer.of(
        (record.deer.start_s >= window.start_s) & (record.deer.start_s < window.end_s)
    )
    return ScrapeVisits(
        scrape_id=record.scrape_id,
        name=record.scrape.name,
        property_id=record.scrape.property_id,
        first_on=first_on,
        last_on=record.days.last_on,
        rate=visit_rate(len(visits), camera_nights),
        expected=None if expected is None else expected.mean,
        expected_low=low,
        expected_high=high,
        base_rate_per_night=base.mean,
        by_class=visits_by_class(
            deer.of(covered(deer.start_s, record.watched)), visits, settings=settings.visits
        ),
        by_species=visits_by_species(visits, settings=settings.visits),
        individuals=individuals_of(visits, record.deer.names),
        in_shooting_light=lit,
        light_share=lit / len(visits) if len(visits) else None,
        first_at=_instant(visits.start_s.min()) if len(visits) else None,
        last_at=_instant(visits.start_s.max()) if len(visits) else None,
        untagged_events=_between(record.untagged_s, window),
        unread_nights=clipped(
            record.unread, start_s=window.start_s, end_s=window.end_s
        ).camera_nights,
        cameras=tuple(
            hanging.health
            for hanging in record.hangings
            if hanging.overlaps(window.start_s, window.end_s)
        ),
        nights=_nights(record, window, base),
        activity=_activity(record, visits.start_s) if len(visits) else None,
    )


def _limits(expected: Prediction | None) -> tuple[int | None, int | None]:
    return (None, None) if expected is None else expected.limits()


def _between(instants_s: "np.ndarray[tuple[int], np.dtype[np.int64]]", window: _Window) -> int:
    return int(((instants_s >= window.start_s) & (instants_s < window.end_s)).sum())


def _nights(record: ScrapeRecord, window: _Window, base: GammaRate) -> tuple[NightCount, ...]:
    nightly = record.nightly
    return tuple(
        NightCount(
            on=record.days.date_of(night),
            visits=int(nightly.visits[night]),
            camera_nights=float(nightly.camera_nights[night]),
            expected=base.mean * float(nightly.use_nights[night]),
        )
        for night in range(window.first, window.after)
    )


def _activity(
    record: ScrapeRecord, start_s: "np.ndarray[tuple[int], np.dtype[np.int64]]"
) -> Activity:
    clocks = [datetime.fromtimestamp(int(at), record.days.zone) for at in start_s]
    hours = [clock.hour + clock.minute / 60 + clock.second / 3600 for clock in clocks]
    return activity(hours, hours=np.arange(24))


def _instant(seconds: np.int64) -> datetime:
    return datetime.fromtimestamp(int(seconds), UTC)

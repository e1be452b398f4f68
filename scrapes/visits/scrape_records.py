"""Each scrape's record: its visits, when it was watched, and what the others teach about it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, TypeVar
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from properties.land import settings as layered_settings
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.land.queries import setting_layers
from scrapes.cameras.settings import CameraHealthSettings
from scrapes.sites.models import Scrape
from scrapes.visits.days import LocalDays, local_days_of
from scrapes.visits.drop_model import base_rate, dispersion_of
from scrapes.visits.effort import Spans, covered
from scrapes.visits.events import Visits
from scrapes.visits.gather import Gathered, gather
from scrapes.visits.hangings import (
    Hanging,
    living,
    set_up_since_s,
    unread_time,
    watched_time,
)
from scrapes.visits.pictures import Pictures, Subject, events_of, visits_of
from scrapes.visits.rates import GammaRate, prior_from_others
from scrapes.visits.record import NightlyRecord, nightly_record
from scrapes.visits.season_curve_queries import season_in_force
from scrapes.visits.settings import CusumSettings, DropSettings, SeasonSettings, VisitSettings

Integers = NDArray[np.int64]
Group = TypeVar("Group")


@dataclass(frozen=True, kw_only=True)
class SettingsInForce:
    """Everything about visits that a property may set.

    ``season_draws`` are curves that may as well be true, where the curve was fitted.
    """

    visits: VisitSettings
    season: SeasonSettings
    season_draws: tuple[SeasonSettings, ...]
    drop: DropSettings
    cusum: CusumSettings
    cameras: CameraHealthSettings


def settings_in_force(land: Property, *, now: datetime) -> SettingsInForce:
    """What holds on a property; of the season what its cooperative had learned by ``now``."""
    known_on = local_date_on(land, now)
    settings = settings_from(*setting_layers(land))
    season = season_in_force(land, known_on=known_on)
    return replace(settings, season=season.curve, season_draws=season.draws)


def settings_from(*layers: Mapping[str, Any]) -> SettingsInForce:
    """As set in stored layers, from the widest to the narrowest."""

    def read(group: type[Group]) -> Group:
        return layered_settings.resolve(group, *layers)

    return SettingsInForce(
        visits=read(VisitSettings),
        season=read(SeasonSettings),
        season_draws=(),
        drop=read(DropSettings),
        cusum=read(CusumSettings),
        cameras=read(CameraHealthSettings),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class ScrapeRecord:
    """One scrape over the days of its property.

    ``visits`` lie inside ``watched``, in order of start; what was seen outside watched time (in
    an outage entered later, say) is no part of a rate. ``people_s``, ``untagged_s`` and
    ``other_s`` are the begins of events of people, of what nobody has tagged, and of everything
    else that is no deer. ``counted`` are the hangings whose pictures these are.
    """

    scrape: Scrape
    days: LocalDays
    hangings: tuple[Hanging, ...]
    counted: tuple[Hanging, ...]
    watched: Spans
    unread: Spans
    visits: Visits
    pictures: Pictures
    deer: Pictures
    people_s: Integers
    untagged_s: Integers
    other_s: Integers
    nightly: NightlyRecord

    @property
    def scrape_id(self) -> UUID:
        return self.scrape.id

    def visits_between(self, start_s: int, end_s: int) -> Visits:
        inside = (self.visits.start_s >= start_s) & (self.visits.start_s < end_s)
        return self.visits.taken(inside)

    def baseline_from(self, settings: DropSettings) -> int:
        """The day since which the set-up that watched last has stood."""
        until_s = int(self.days.edge_s[-1])
        since = set_up_since_s(self.counted, until_s=until_s, settings=settings)
        return 0 if since is None else self.days.index_at(since)


@dataclass(frozen=True, kw_only=True)
class Learned:
    """What the nights before a window say about a scrape."""

    visits: int
    use_nights: float
    dispersion: float

    def base(self, prior: GammaRate) -> GammaRate:
        return base_rate(
            prior, visits=self.visits, use_nights=self.use_nights, dispersion=self.dispersion
        )


def learned(nightly: NightlyRecord, *, first: int, after: int, drop: DropSettings) -> Learned:
    """From nights ``first`` up to, not including, ``after``; none of them teach nothing."""
    nights = slice(first, max(first, after))
    visits, use = nightly.visits[nights], nightly.use_nights[nights]
    return Learned(
        visits=int(visits.sum()),
        use_nights=float(use.sum()),
        dispersion=dispersion_of(visits, use, assumed=drop.dispersion),
    )


def prior_of(others: Iterable[Learned], *, drop: DropSettings) -> GammaRate:
    """What the cooperative's other scrapes teach about one of them."""
    known = tuple(others)
    return prior_from_others(
        [one.visits for one in known],
        [one.use_nights for one in known],
        fallback=GammaRate(
            shape=drop.prior_shape, rate=drop.prior_shape / drop.prior_visits_per_night
        ),
        shape_maximum=drop.prior_shape_maximum,
    )


def records_of(
    lands: Sequence[Property],
    *,
    first_on: date,
    last_on: date,
    now: datetime,
    settings: SettingsInForce,
) -> tuple[ScrapeRecord, ...]:
    """The records of all scrapes of ``lands`` over the same local dates, in a constant number of
    queries; with one property's settings, so that rates can be compared."""
    days = local_days_of(lands, first_on=first_on, last_on=last_on)
    if not days:
        return ()
    since = min(int(one.edge_s[0]) for one in days.values())
    gathered = gather(
        lands,
        since=datetime.fromtimestamp(since, now.tzinfo),
        now=now,
        visits=settings.visits,
        cameras=settings.cameras,
    )
    visits = visits_of(gathered.pictures.about(Subject.DEER), settings=settings.visits)
    return tuple(
        _record(code, scrape, gathered, visits, days[scrape.property_id], now, settings)
        for code, scrape in enumerate(gathered.scrapes)
    )


def _record(
    code: int,
    scrape: Scrape,
    gathered: Gathered,
    all_visits: Visits,
    days: LocalDays,
    now: datetime,
    settings: SettingsInForce,
) -> ScrapeRecord:
    hangings = gathered.hangings[code]
    pictures = gathered.pictures.of(gathered.pictures.scrape == code)
    return _recorded(
        scrape,
        days,
        hangings=hangings,
        counted=hangings,
        pictures=pictures,
        visits=all_visits.taken(all_visits.scrape == code),
        now_s=int(now.timestamp()),
        settings=settings,
    )


def as_the_living_saw_it(
    record: ScrapeRecord, *, now: datetime, settings: SettingsInForce
) -> ScrapeRecord:
    """The record by the cameras that can be believed, where others there have failed.

    All its ``hangings`` stay with it, so that the failed ones can be seen to, and so do the people
    that any of them saw.
    """
    counted = living(record.hangings, now_s=int(now.timestamp()))
    if len(counted) == len(record.hangings):
        return record
    kept = record.pictures.of(
        np.isin(record.pictures.hanging, [hanging.code for hanging in counted])
    )
    told = _recorded(
        record.scrape,
        record.days,
        hangings=record.hangings,
        counted=counted,
        pictures=kept,
        visits=visits_of(kept.about(Subject.DEER), settings=settings.visits),
        now_s=int(now.timestamp()),
        settings=settings,
    )
    return replace(told, people_s=record.people_s)


def _recorded(
    scrape: Scrape,
    days: LocalDays,
    *,
    hangings: tuple[Hanging, ...],
    counted: tuple[Hanging, ...],
    pictures: Pictures,
    visits: Visits,
    now_s: int,
    settings: SettingsInForce,
) -> ScrapeRecord:
    until_s = min(now_s, int(days.edge_s[-1]))
    watched = watched_time(counted, now_s=until_s)
    seen = visits.taken(covered(visits.start_s, watched))
    seen = seen.taken(np.argsort(seen.start_s, kind="stable"))

    def begins(subject: Subject) -> Integers:
        return events_of(pictures.about(subject), settings=settings.visits).start_s

    return ScrapeRecord(
        scrape=scrape,
        days=days,
        hangings=hangings,
        counted=counted,
        watched=watched,
        unread=unread_time(counted, watched, now_s=until_s),
        visits=seen,
        pictures=pictures,
        deer=pictures.about(Subject.DEER),
        people_s=begins(Subject.PEOPLE),
        untagged_s=begins(Subject.UNTAGGED),
        other_s=begins(Subject.OTHER),
        nightly=nightly_record(
            visit_start_s=seen.start_s,
            watched=watched,
            edge_s=days.edge_s,
            days_from_peak=days.from_peak,
            season=settings.season,
        ),
    )

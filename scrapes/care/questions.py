"""From the records of scrapes to the question that the drop test answers for each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from properties.land.geodesy import distance_m
from scrapes.care.bucks import BuckTaken
from scrapes.visits.cusum import CusumSignal, watch_for_fall
from scrapes.visits.drop_model import predict
from scrapes.visits.drop_question import (
    DaylightCounts,
    DropQuestion,
    OtherScrape,
    OtherTriggers,
    TakenBuck,
)
from scrapes.visits.effort import clipped, covered, seconds_within
from scrapes.visits.rates import GammaRate
from scrapes.visits.record import NightlyRecord, RecentWindow, recent_window
from scrapes.visits.scrape_records import (
    Learned,
    ScrapeRecord,
    SettingsInForce,
    learned,
    prior_of,
)
from scrapes.visits.season_curve_spread import curve_variance


@dataclass(frozen=True, kw_only=True, eq=False)
class AskedOf:
    """A scrape's question with the nights it is about: ``first`` up to the record's end."""

    record: ScrapeRecord
    question: DropQuestion
    first: int


@dataclass(frozen=True, kw_only=True, eq=False)
class _Judged:
    """A record, since which night its set-up stands, and its window as it would be judged."""

    record: ScrapeRecord
    since: int
    first: int
    before: Learned


def drop_questions(
    records: Sequence[ScrapeRecord],
    *,
    chosen: Sequence[ScrapeRecord],
    bucks: Sequence[BuckTaken],
    settings: SettingsInForce,
) -> tuple[AskedOf, ...]:
    """The question about each of ``chosen``, scrapes of one property among ``records``.

    ``records`` are all scrapes of the cooperative up to the day of the review: they make the
    prior; those of ``chosen`` are also asked whether the whole property is falling.
    """
    judged = [_windowed(record, settings) for record in records]
    mine = [one for one in judged if any(one.record is record for record in chosen)]
    return tuple(_asked(one, judged, mine, bucks, settings) for one in mine)


def _windowed(record: ScrapeRecord, settings: SettingsInForce) -> _Judged:
    since = record.baseline_from(settings.drop)
    window = recent_window(
        _from(record.nightly, since), prior=prior_of((), drop=settings.drop), settings=settings.drop
    )
    first = since + window.first_night
    return _Judged(
        record=record,
        since=since,
        first=first,
        before=learned(record.nightly, first=since, after=first, drop=settings.drop),
    )


def _asked(
    one: _Judged,
    judged: Sequence[_Judged],
    mine: Sequence[_Judged],
    bucks: Sequence[BuckTaken],
    settings: SettingsInForce,
) -> AskedOf:
    record, nights = one.record, len(one.record.days)
    window = recent_window(
        _from(record.nightly, one.since),
        prior=_prior(one, judged, settings),
        settings=settings.drop,
    )
    start_s, end_s = record.days.span_s(one.first, nights)
    others = (_other(one, other, judged, settings) for other in mine if other is not one)
    question = DropQuestion(
        scrape=record.scrape.name,
        visits=window.visits,
        camera_nights=window.camera_nights,
        unread_nights=clipped(record.unread, start_s=start_s, end_s=end_s).camera_nights,
        use_nights=window.use_nights,
        base=window.base,
        dispersion=window.dispersion,
        curve_variance=curve_variance(
            record.nightly.camera_nights[one.since :],
            record.days.from_peak[one.since :],
            first=one.first - one.since,
            draws=settings.season_draws,
        ),
        untagged_events=_count(record.untagged_s, start_s, end_s),
        cameras=tuple(
            hanging.health for hanging in record.hangings if hanging.overlaps(start_s, end_s)
        ),
        others=tuple(other for other in others if other is not None),
        bucks_taken=_bucks(one, bucks, start_s, end_s),
        bucks_unnamed=_unnamed(one, bucks, start_s, end_s, settings),
        daylight=_daylight(one, start_s, end_s, settings),
        other_triggers=_triggers(one, start_s, end_s, settings),
        cusum=_cusum(record.nightly, one.first, window, settings),
    )
    return AskedOf(record=record, question=question, first=one.first)


def _from(nightly: NightlyRecord, first: int) -> NightlyRecord:
    return NightlyRecord(
        visits=nightly.visits[first:],
        camera_nights=nightly.camera_nights[first:],
        use_nights=nightly.use_nights[first:],
    )


def _prior(one: _Judged, judged: Sequence[_Judged], settings: SettingsInForce) -> GammaRate:
    return prior_of((other.before for other in judged if other is not one), drop=settings.drop)


def _other(
    one: _Judged, other: _Judged, judged: Sequence[_Judged], settings: SettingsInForce
) -> OtherScrape | None:
    """Another scrape over the same nights; None where it is not fully known over them."""
    nights = slice(one.first, None)
    watched = float(other.record.nightly.camera_nights[nights].sum())
    start_s, end_s = one.record.days.span_s(one.first, len(one.record.days))
    unread = clipped(other.record.unread, start_s=start_s, end_s=end_s).camera_nights
    untagged = _count(other.record.untagged_s, start_s, end_s)
    set_anew = other.since >= one.first
    if watched < settings.drop.minimum_nights or untagged or set_anew or unread > watched:
        return None
    before = learned(other.record.nightly, first=other.since, after=one.first, drop=settings.drop)
    here, there = one.record.scrape, other.record.scrape
    return OtherScrape(
        name=there.name,
        visits=int(other.record.nightly.visits[nights].sum()),
        prediction=predict(
            before.base(_prior(other, judged, settings)),
            use_nights=float(other.record.nightly.use_nights[nights].sum()),
            dispersion=before.dispersion,
        ),
        distance_m=float(
            distance_m(here.longitude, here.latitude, there.longitude, there.latitude)
        ),
    )


def _bucks(
    one: _Judged, bucks: Sequence[BuckTaken], start_s: int, end_s: int
) -> tuple[TakenBuck, ...]:
    """Bucks that were taken and came here before the window: a part of it went without them."""
    record = one.record
    since_s, _end = record.days.span_s(one.since, len(record.days))
    before = record.visits_between(since_s, start_s)
    effort = clipped(record.watched, start_s=start_s, end_s=end_s)
    if not len(before) or not effort.total_s:
        return ()
    found = []
    for buck in bucks:
        if buck.individual not in record.deer.names:
            continue
        code = record.deer.names.index(buck.individual)
        share = float((before.individual == code).mean())
        taken_s = min(max(int(buck.taken_at.timestamp()), start_s), end_s)
        after = int(seconds_within(effort, start_s=taken_s, end_s=end_s))
        if share > 0:
            found.append(
                TakenBuck(
                    name=buck.individual,
                    share_of_visits=share,
                    share_of_window=after / effort.total_s,
                )
            )
    return tuple(found)


def _unnamed(
    one: _Judged,
    bucks: Sequence[BuckTaken],
    start_s: int,
    end_s: int,
    settings: SettingsInForce,
) -> int:
    """Bucks of no known name taken in the window near the scrape, or nobody said where."""
    scrape = one.record.scrape
    return sum(
        not buck.individual
        and start_s <= buck.taken_at.timestamp() < end_s
        and (
            buck.place is None
            or float(distance_m(scrape.longitude, scrape.latitude, *buck.place))
            <= settings.drop.buck_near_m
        )
        for buck in bucks
    )


def _daylight(one: _Judged, start_s: int, end_s: int, settings: SettingsInForce) -> DaylightCounts:
    """Against the nights just before the window: over a season the days themselves grow shorter."""
    record = one.record
    since_s = _shortly_before(one, settings)
    before = record.visits_between(since_s, start_s).start_s
    inside = record.visits_between(start_s, end_s).start_s
    light = record.days.light
    return DaylightCounts(
        daylight_before=int(covered(before, light).sum()),
        total_before=len(before),
        daylight_in_window=int(covered(inside, light).sum()),
        total_in_window=len(inside),
    )


def _triggers(one: _Judged, start_s: int, end_s: int, settings: SettingsInForce) -> OtherTriggers:
    """Against the nights just before the window: squirrels, too, have their seasons."""
    record = one.record
    since_s = _shortly_before(one, settings)
    seen_s = record.other_s[covered(record.other_s, record.watched)]
    return OtherTriggers(
        before=_count(seen_s, since_s, start_s),
        nights_before=clipped(record.watched, start_s=since_s, end_s=start_s).camera_nights,
        in_window=_count(seen_s, start_s, end_s),
        nights_in_window=clipped(record.watched, start_s=start_s, end_s=end_s).camera_nights,
    )


def _shortly_before(one: _Judged, settings: SettingsInForce) -> int:
    """When the nights begin that a window is held against night by night: twice its length."""
    nearest = max(one.since, one.first - 2 * settings.drop.window_nights)
    return one.record.days.span_s(nearest, len(one.record.days))[0]


def _cusum(
    nightly: NightlyRecord, first: int, window: RecentWindow, settings: SettingsInForce
) -> CusumSignal | None:
    """The running sum over the window's watched nights; None where none was."""
    visits, use = nightly.visits[first:], nightly.use_nights[first:]
    watched = use > 0
    if not bool(watched.any()):
        return None
    return watch_for_fall(visits[watched], window.base.mean * use[watched], settings=settings.cusum)


def _count(
    instants_s: "np.ndarray[tuple[int], np.dtype[np.int64]]", start_s: int, end_s: int
) -> int:
    return int(((instants_s >= start_s) & (instants_s < end_s)).sum())

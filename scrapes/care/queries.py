"""Applications and reviews that an actor may see, and how refreshes turned out."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

import numpy as np
from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.regulations.queries import pictures_seen_until, properties_with_delay
from scrapes.care.effect import BeforeAfter, Effect, effect_of_refresh, effect_of_refreshes
from scrapes.care.models import ScentApplication, ScrapeReview, Substance
from scrapes.care.review import care_settings
from scrapes.care.settings import CareSettings
from scrapes.visits.scrape_records import ScrapeRecord, records_of, settings_in_force
from scrapes.visits.settings import SeasonSettings
from scrapes.visits.spans import visits_and_use


def applications_visible_to(
    *, actor: Actor, action: Action = Action.SCRAPE_READ
) -> QuerySet[ScentApplication]:
    return scoped(
        ScentApplication.objects.all(), actor=actor, action=action, field="scrape__property"
    )


def reviews_visible_to(
    *, actor: Actor, action: Action = Action.VISIT_READ
) -> QuerySet[ScrapeReview]:
    return scoped(ScrapeReview.objects.all(), actor=actor, action=action, field="scrape__property")


def reviews_told_to(*, actor: Actor, now: datetime) -> QuerySet[ScrapeReview]:
    """Visible reviews, without those that tell of pictures that the actor may not see yet.

    A review is made anew through its day, so that one of a day not over by then is left out.
    """
    rows = reviews_visible_to(actor=actor)
    delayed = properties_with_delay(property_ids=actor.properties_for(Action.VISIT_READ), now=now)
    for land in delayed:
        seen = pictures_seen_until(actor=actor, land=land, now=now)
        if seen < now:
            rows = rows.exclude(scrape__property=land, reviewed_on__gte=local_date_on(land, seen))
    return rows


@dataclass(frozen=True, kw_only=True)
class RefreshEffect:
    """One application with the change of visits after it."""

    application: ScentApplication
    effect: Effect


@dataclass(frozen=True, kw_only=True)
class RefreshEffects:
    """Effects on a property: each application, pooled by kind of scent, and all together."""

    refreshes: tuple[RefreshEffect, ...]
    by_scent: dict[str, Effect]
    together: Effect


def refresh_effects(land: Property, *, now: datetime) -> RefreshEffects:
    """What visits did after each refresh of a property within its record.

    Before and after are the setting's days, cut short by another application and by ``now``;
    the comparison is with scrapes of the property not refreshed in the same two spans.
    """
    settings, care = settings_in_force(land, now=now), care_settings(land)
    today = local_date_on(land, now)
    records = records_of(
        [land],
        first_on=today - timedelta(days=settings.visits.record_days),
        last_on=today,
        now=now,
        settings=settings,
    )
    rows = list(
        ScentApplication.objects.filter(
            scrape__property=land, applied_at__lte=now, substance=Substance.SCENT
        )
        .select_related("scrape", "applied_by")
        .order_by("applied_at", "id")
    )
    applied: dict[UUID, list[int]] = defaultdict(list)
    for row in rows:
        applied[row.scrape_id].append(int(row.applied_at.timestamp()))
    by_scrape = {record.scrape_id: record for record in records}

    measured = [
        _measure(
            row,
            by_scrape[row.scrape_id],
            records,
            applied,
            now=now,
            care=care,
            season=settings.season,
        )
        for row in rows
        if row.scrape_id in by_scrape
        and int(row.applied_at.timestamp()) > int(by_scrape[row.scrape_id].days.edge_s[0])
    ]
    dispersion = settings.drop.dispersion
    kinds: dict[str, list[_Measured]] = defaultdict(list)
    for one in measured:
        kinds[one.application.scent].append(one)
    return RefreshEffects(
        refreshes=tuple(
            RefreshEffect(
                application=one.application,
                effect=effect_of_refresh(
                    one.own, others=one.others, dispersion=dispersion, settings=care
                ),
            )
            for one in measured
        ),
        by_scent={
            scent: _pooled(several, dispersion, care) for scent, several in sorted(kinds.items())
        },
        together=_pooled(measured, dispersion, care),
    )


@dataclass(frozen=True, kw_only=True)
class _Measured:
    """One refresh with the scrapes left alone; ``calm_visits`` tells which visits these had."""

    application: ScentApplication
    own: BeforeAfter
    others: BeforeAfter
    calm_visits: frozenset[tuple[UUID, int]]


def _measure(
    row: ScentApplication,
    record: ScrapeRecord,
    records: Sequence[ScrapeRecord],
    applied: dict[UUID, list[int]],
    *,
    now: datetime,
    care: CareSettings,
    season: SeasonSettings,
) -> _Measured:
    at_s, length_s = int(row.applied_at.timestamp()), round(care.effect_days * 86_400)
    own = applied[row.scrape_id]
    begin = max([at_s - length_s, *(other for other in own if other < at_s)])
    end = min([at_s + length_s, int(now.timestamp()), *(other for other in own if other > at_s)])
    calm = [
        other
        for other in records
        if other is not record
        and not any(begin <= instant < end for instant in applied[other.scrape_id])
    ]
    return _Measured(
        application=row,
        own=_before_after([record], begin, at_s, end, season),
        others=_before_after(calm, begin, at_s, end, season),
        calm_visits=frozenset(
            (other.scrape_id, int(at))
            for other in calm
            for at in other.visits_between(begin, end).start_s
        ),
    )


def _before_after(
    records: Iterable[ScrapeRecord], begin_s: int, at_s: int, end_s: int, season: SeasonSettings
) -> BeforeAfter:
    spans = [
        (
            visits_and_use(record, begin_s, at_s, season=season),
            visits_and_use(record, at_s, end_s, season=season),
        )
        for record in records
    ]
    table = np.array(spans, dtype=float).reshape(-1, 2, 2).sum(axis=0)
    return BeforeAfter(
        visits_before=int(table[0, 0]),
        use_nights_before=float(table[0, 1]),
        visits_after=int(table[1, 0]),
        use_nights_after=float(table[1, 1]),
    )


def _pooled(measured: Sequence[_Measured], dispersion: float, care: CareSettings) -> Effect:
    """Several refreshes as one figure; a visit of a scrape left alone that several of them are set
    against counts once, else the same few visits would pass for many."""
    seen = frozenset[tuple[UUID, int]]().union(*(one.calm_visits for one in measured))
    used = sum(one.others.visits for one in measured)
    share = len(seen) / used if used else 1.0
    return effect_of_refreshes(
        [(one.own, _thinned(one.others, share)) for one in measured],
        dispersion=dispersion,
        settings=care,
    )


def _thinned(others: BeforeAfter, share: float) -> BeforeAfter:
    return replace(
        others,
        visits_before=round(others.visits_before * share),
        visits_after=round(others.visits_after * share),
    )

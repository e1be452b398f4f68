"""Applications and reviews that an actor may see, and how refreshes turned out."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land.models import Property
from scrapes.care.effect import BeforeAfter, Effect, effect_of_refresh, effect_of_refreshes
from scrapes.care.models import ScentApplication, ScrapeReview
from scrapes.care.review import care_settings
from scrapes.care.settings import CareSettings
from scrapes.visits.queries import today_on
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
    today = today_on(land, now)
    records = records_of(
        [land],
        first_on=today - timedelta(days=settings.visits.record_days),
        last_on=today,
        now=now,
        settings=settings,
    )
    rows = list(
        ScentApplication.objects.filter(scrape__property=land, applied_at__lte=now)
        .select_related("scrape")
        .order_by("applied_at", "id")
    )
    applied: dict[object, list[int]] = defaultdict(list)
    for row in rows:
        applied[row.scrape_id].append(int(row.applied_at.timestamp()))
    by_scrape = {record.scrape_id: record for record in records}

    def measure(row: ScentApplication) -> tuple[BeforeAfter, BeforeAfter]:
        return _measure(
            row,
            by_scrape[row.scrape_id],
            records,
            applied,
            now=now,
            care=care,
            season=settings.season,
        )

    measured = [
        (row, *measure(row))
        for row in rows
        if row.scrape_id in by_scrape
        and int(row.applied_at.timestamp()) > int(by_scrape[row.scrape_id].days.edge_s[0])
    ]
    dispersion = settings.drop.dispersion
    kinds: dict[str, list[tuple[BeforeAfter, BeforeAfter]]] = defaultdict(list)
    for row, own, others in measured:
        kinds[row.scent].append((own, others))
    return RefreshEffects(
        refreshes=tuple(
            RefreshEffect(
                application=row,
                effect=effect_of_refresh(own, others=others, dispersion=dispersion, settings=care),
            )
            for row, own, others in measured
        ),
        by_scent={
            scent: _pooled(pairs, dispersion, care) for scent, pairs in sorted(kinds.items())
        },
        together=_pooled([pair for pairs in kinds.values() for pair in pairs], dispersion, care),
    )


def _measure(
    row: ScentApplication,
    record: ScrapeRecord,
    records: Sequence[ScrapeRecord],
    applied: dict[object, list[int]],
    *,
    now: datetime,
    care: CareSettings,
    season: SeasonSettings,
) -> tuple[BeforeAfter, BeforeAfter]:
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
    return (
        _before_after([record], begin, at_s, end, season),
        _before_after(calm, begin, at_s, end, season),
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


def _pooled(
    pairs: Sequence[tuple[BeforeAfter, BeforeAfter]], dispersion: float, care: CareSettings
) -> Effect:
    others = [other for _own, other in pairs]
    return effect_of_refreshes(
        [own for own, _other in pairs],
        others=BeforeAfter(
            visits_before=sum(one.visits_before for one in others),
            use_nights_before=sum(one.use_nights_before for one in others),
            visits_after=sum(one.visits_after for one in others),
            use_nights_after=sum(one.use_nights_after for one in others),
        ),
        dispersion=dispersion,
        settings=care,
    )

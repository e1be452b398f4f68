"""A month of each scrape, counted as the scrapes' own review counts it, parted at the scent."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Max

from coop.reports.periods import Period
from coop.reports.rows import Count, ScrapeMonth
from properties.land.models import Property
from scrapes.cameras.models import CameraStatus, CameraUnit, Observation
from scrapes.care.models import ScentApplication, Substance
from scrapes.visits.effort import clipped
from scrapes.visits.figures import ScrapeVisits, figures_of
from scrapes.visits.queries import cooperative_records
from scrapes.visits.rates import poisson_limits
from scrapes.visits.scrape_records import ScrapeRecord, SettingsInForce
from scrapes.visits.spans import visits_and_use


def scrape_months(
    *,
    land: Property,
    period: Period,
    now: datetime,
    settings: SettingsInForce,
    confidence: float,
) -> tuple[ScrapeMonth, ...]:
    """Each scrape's visits against expected, by name; nothing later than ``now`` counts."""
    now = last_sign(land.cooperative_id, after=period.ends_at, now=now)
    records = cooperative_records(
        land,
        first_on=period.first_on - timedelta(days=settings.visits.record_days),
        last_on=period.last_on,
        now=now,
        settings=settings,
    )
    told = figures_of(records, first_on=period.first_on, property_id=land.id, settings=settings)
    record_of = {record.scrape_id: record for record in records}
    scent = _last_scent(land, period, now)
    return tuple(
        _scrape_month(
            one,
            record_of[one.scrape_id],
            period,
            scent_s=scent.get(one.scrape_id),
            settings=settings,
            confidence=confidence,
        )
        for one in told
    )


def _scrape_month(
    told: ScrapeVisits,
    record: ScrapeRecord,
    period: Period,
    *,
    scent_s: int | None,
    settings: SettingsInForce,
    confidence: float,
) -> ScrapeMonth:
    begins, ends = _seconds(period.starts_at), _seconds(period.ends_at)

    def count(start_s: int, end_s: int) -> Count:
        visits, use = visits_and_use(record, start_s, end_s, season=settings.season)
        nights = clipped(record.watched, start_s=start_s, end_s=end_s).camera_nights
        low, high = poisson_limits(visits, confidence=confidence)
        return Count(
            visits=visits,
            camera_nights=round(nights, 2),
            low=round(float(low), 2),
            high=round(float(high), 2),
            expected=round(told.base_rate_per_night * use, 2) if nights > 0 else None,
        )

    return ScrapeMonth(
        name=told.name,
        whole=count(begins, ends),
        expected_low=told.expected_low,
        expected_high=told.expected_high,
        scent_on=None if scent_s is None else _local_date(scent_s, period),
        before=None if scent_s is None else count(begins, scent_s),
        since=None if scent_s is None else count(scent_s, ends),
        untagged_stays=told.untagged_events,
    )


def last_sign(cooperative_id: UUID, *, after: datetime, now: datetime) -> datetime:
    """The instant at which the cameras are judged: the cooperative's last sign of any of them.

    A camera looks the longer silent the later one asks. Judged at the last sign after the
    period ended (``after``), a finished period changes when something new came in, and not
    because time passed.
    """
    cameras = CameraUnit.objects.filter(property__cooperative_id=cooperative_id)
    signs = [
        CameraStatus.objects.filter(
            camera__in=cameras, reported_at__gte=after, reported_at__lt=now
        ).aggregate(last=Max("reported_at"))["last"],
        Observation.objects.filter(
            deployment__camera__in=cameras, observed_at__gte=after, observed_at__lt=now
        ).aggregate(last=Max("observed_at"))["last"],
    ]
    last = max((sign for sign in signs if sign is not None), default=after)
    # Spans are half-open: the second of the last sign belongs to what is known.
    return min(now, last + timedelta(seconds=1))


def _last_scent(land: Property, period: Period, now: datetime) -> Mapping[UUID, int]:
    """The last scent of the month at each scrape."""
    applied: dict[UUID, list[int]] = defaultdict(list)
    rows: Sequence[tuple[UUID, datetime]] = list(
        ScentApplication.objects.filter(
            scrape__property=land,
            applied_at__gte=period.starts_at,
            applied_at__lt=period.cut_off(now),
            substance=Substance.SCENT,
        ).values_list("scrape_id", "applied_at")
    )
    for scrape_id, applied_at in rows:
        applied[scrape_id].append(_seconds(applied_at))
    return {scrape_id: max(instants) for scrape_id, instants in applied.items()}


def _local_date(instant_s: int, period: Period) -> date:
    return datetime.fromtimestamp(instant_s, tz=period.zone).date()


def _seconds(instant: datetime) -> int:
    return int(instant.timestamp())

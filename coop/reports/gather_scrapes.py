"""Read a property's scrapes, their cameras and the pictures of deer, for the appendix."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
from django.db.models import Count, Max, Q
from django.db.models.functions import Lower

from coop.reports.periods import Period
from coop.reports.rows import PictureRows, ScrapeRow
from coop.reports.settings import ReportSettings
from properties.land.models import Property
from scrapes.cameras.models import (
    CameraStatus,
    Deployment,
    Observation,
    ObservationKind,
    Outage,
)
from scrapes.care.models import ScentApplication
from scrapes.sites.models import Scrape
from scrapes.visits import effort
from scrapes.visits.events import UNIDENTIFIED


@dataclass(frozen=True, kw_only=True)
class ScrapeRecord:
    scrapes: tuple[ScrapeRow, ...]
    pictures: PictureRows


def scrape_record(
    *, land: Property, period: Period, now: datetime, settings: ReportSettings
) -> ScrapeRecord:
    """The scrapes of a property with what their cameras recorded up to the month's end."""
    since = period.starts_at - timedelta(days=settings.record_days)
    until = period.cut_off(now)
    hung = list(
        Deployment.objects.filter(scrape__property=land, starts_at__lt=until)
        .filter(Q(ends_at=None) | Q(ends_at__gt=since))
        .select_related("camera")
        .order_by("starts_at", "id")
    )
    scrapes = list(
        Scrape.objects.filter(property=land)
        .filter(Q(retired_at=None) | Q(retired_at__gte=period.starts_at))
        .order_by("name", "id")
    )
    codes = {scrape.id: code for code, scrape in enumerate(scrapes)}
    heard = _last_heard(hung, until)
    by_scrape = _by_scrape(hung)
    outages = _outages(hung)
    scent = _scent(land, since, until)
    rows = tuple(
        ScrapeRow(
            name=scrape.name,
            deployments=tuple(_deployment(row, heard) for row in by_scrape[scrape.id]),
            outages=tuple(outage for row in by_scrape[scrape.id] for outage in outages[row.id]),
            scent_s=tuple(scent[scrape.id]),
        )
        for scrape in scrapes
    )
    pictures = _pictures(hung, codes, since=since, period=period, until=until, settings=settings)
    return ScrapeRecord(scrapes=rows, pictures=pictures)


def _by_scrape(hung: Iterable[Deployment]) -> Mapping[UUID, list[Deployment]]:
    by_scrape: dict[UUID, list[Deployment]] = defaultdict(list)
    for row in hung:
        by_scrape[row.scrape_id].append(row)
    return by_scrape


def _deployment(row: Deployment, heard: Mapping[UUID, datetime]) -> effort.Deployment:
    known = heard.get(row.id)
    return effort.Deployment(
        camera=str(row.camera_id),
        start_s=_seconds(row.starts_at),
        end_s=None if row.ends_at is None else _seconds(row.ends_at),
        known_up_to_s=None if known is None else _seconds(known),
    )


def _last_heard(hung: list[Deployment], until: datetime) -> dict[UUID, datetime]:
    """The last sign of each deployment: a picture, a card pulled, or what a sender reported."""
    pictures = dict(
        Observation.objects.filter(deployment__in=hung, observed_at__lt=until)
        .values("deployment")
        .annotate(last=Max("observed_at"))
        .values_list("deployment", "last")
    )
    statuses: dict[UUID, list[tuple[datetime, bool]]] = defaultdict(list)
    for camera_id, reported_at, pulled in (
        CameraStatus.objects.filter(camera__deployments__in=hung)
        .order_by("reported_at")
        .values_list("camera_id", "reported_at", "card_pulled")
        .distinct()
    ):
        statuses[camera_id].append((reported_at, pulled))
    heard: dict[UUID, datetime] = {}
    for row in hung:
        signs = [
            # Pulling a card tells about a deployment even when it happens after its end.
            reported_at
            for reported_at, pulled in statuses[row.camera_id]
            if reported_at >= row.starts_at and (pulled or row.camera.transmits)
        ]
        if row.id in pictures:
            # Spans are half-open: the second of the last picture was watched as well.
            signs.append(pictures[row.id] + timedelta(seconds=1))
        if signs:
            heard[row.id] = max(signs)
    return heard


def _outages(hung: list[Deployment]) -> Mapping[UUID, list[effort.Outage]]:
    outages: dict[UUID, list[effort.Outage]] = defaultdict(list)
    for row in Outage.objects.filter(deployment__in=hung).select_related("deployment"):
        outages[row.deployment_id].append(
            effort.Outage(
                camera=str(row.deployment.camera_id),
                start_s=_seconds(row.starts_at),
                end_s=None if row.ends_at is None else _seconds(row.ends_at),
            )
        )
    return outages


def _scent(land: Property, since: datetime, until: datetime) -> Mapping[UUID, list[int]]:
    scent: dict[UUID, list[int]] = defaultdict(list)
    for scrape_id, applied_at in (
        ScentApplication.objects.filter(
            scrape__property=land, applied_at__gte=since, applied_at__lt=until
        )
        .order_by("applied_at", "id")
        .values_list("scrape_id", "applied_at")
    ):
        scent[scrape_id].append(_seconds(applied_at))
    return scent


def _pictures(
    hung: list[Deployment],
    codes: Mapping[UUID, int],
    *,
    since: datetime,
    period: Period,
    until: datetime,
    settings: ReportSettings,
) -> PictureRows:
    code_of = {row.id: codes[row.scrape_id] for row in hung if row.scrape_id in codes}
    taken = Observation.objects.filter(
        deployment__in=list(code_of), observed_at__gte=since, observed_at__lt=until
    )
    deer = (
        taken.filter(kind=ObservationKind.ANIMAL)
        .annotate(named=Lower("species"))
        .filter(named__in=list(settings.deer_names))
        .order_by("observed_at", "id")
        .values_list("deployment_id", "observed_at", "ended_at", "individual")
    )
    untagged = np.zeros(len(codes), dtype=np.int64)
    for deployment_id, count in (
        taken.filter(
            kind__in=[ObservationKind.UNCLASSIFIED, ObservationKind.UNKNOWN],
            observed_at__gte=period.starts_at,
        )
        .values("deployment_id")
        .annotate(count=Count("id"))
        .values_list("deployment_id", "count")
    ):
        untagged[code_of[deployment_id]] += count
    return _columns(list(deer), code_of, untagged)


def _columns(
    rows: list[tuple[Any, ...]], code_of: Mapping[UUID, int], untagged: Any
) -> PictureRows:
    names = sorted({individual for *_rest, individual in rows if individual})
    individual_code = {name: code for code, name in enumerate(names)}
    return PictureRows(
        scrape=np.array([code_of[row[0]] for row in rows], np.int64),
        start_s=np.array([_seconds(row[1]) for row in rows], np.int64),
        end_s=np.array([_seconds(row[2] or row[1]) for row in rows], np.int64),
        individual=np.array([individual_code.get(row[3], UNIDENTIFIED) for row in rows], np.int64),
        untagged=untagged,
    )


def _seconds(instant: datetime) -> int:
    return int(instant.timestamp())

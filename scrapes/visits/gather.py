"""Read what cameras recorded of the scrapes of some properties, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any
from uuid import UUID

import numpy as np
from django.db.models import Q

from properties.land.models import Property
from scrapes.cameras.clock_queries import ClockRows, clock_rows
from scrapes.cameras.evidence import evidence_from, seconds_of, statuses_by_deployment
from scrapes.cameras.health import CameraEvidence, CameraHealth, CameraState
from scrapes.cameras.models import (
    CameraStatus,
    Deployment,
    Observation,
    ObservationKind,
    Outage,
)
from scrapes.cameras.settings import CameraHealthSettings
from scrapes.sites.models import Scrape
from scrapes.visits import effort
from scrapes.visits.events import UNIDENTIFIED
from scrapes.visits.hangings import Hanging, believed
from scrapes.visits.pictures import Pictures, Subject, deer_class
from scrapes.visits.settings import VisitSettings

_CHUNK = 20_000
_SUBJECTS = {
    ObservationKind.HUMAN: Subject.PEOPLE,
    ObservationKind.VEHICLE: Subject.PEOPLE,
    ObservationKind.UNCLASSIFIED: Subject.UNTAGGED,
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Gathered:
    """Scrapes by property and name, the cameras hung at each (same order), their pictures."""

    scrapes: tuple[Scrape, ...]
    hangings: tuple[tuple[Hanging, ...], ...]
    pictures: Pictures


def gather(
    lands: Sequence[Property],
    *,
    since: datetime,
    now: datetime,
    visits: VisitSettings,
    cameras: CameraHealthSettings,
) -> Gathered:
    """Everything recorded in ``[since, now)``; nothing later than ``now`` is looked at.

    A camera's habit is judged by its pictures of the same time.
    """
    scrapes = tuple(
        Scrape.objects.filter(property__in=lands)
        .filter(Q(retired_at=None) | Q(retired_at__gt=since))
        .order_by("property_id", "name", "id")
    )
    hung = list(
        Deployment.objects.filter(scrape__in=scrapes, starts_at__lt=now)
        .filter(Q(ends_at=None) | Q(ends_at__gt=since))
        .select_related("camera")
        .order_by("starts_at", "id")
    )
    scrape_code = {scrape.id: code for code, scrape in enumerate(scrapes)}
    pictures = _pictures(hung, scrape_code, since=since, now=now, settings=visits)
    outages = _outages(hung, now)
    statuses = statuses_by_deployment(hung, now=now)
    clocks = clock_rows(lands, hung, since=since, now=now)
    by_scrape: dict[UUID, list[Hanging]] = defaultdict(list)
    for code, row in enumerate(hung):
        mine = pictures.start_s[pictures.hanging == code]
        clock = clocks.get(row.id, ClockRows())
        evidence = evidence_from(
            row,
            called=row.camera.name,
            trigger_s=mine,
            statuses=statuses[row.id],
            clock=clock,
            # Spans are half-open: the second of the last picture was watched as well.
            picture_lasts_s=1,
            now=now,
        )
        plain = _hanging(row, evidence, outages[row.id], statuses[row.id], code=code)
        by_scrape[row.scrape_id].append(
            believed(plain, evidence, now_s=seconds_of(now), settings=cameras)
        )
    return Gathered(
        scrapes=scrapes,
        hangings=tuple(tuple(by_scrape[scrape.id]) for scrape in scrapes),
        pictures=pictures,
    )


def _pictures(
    hung: Sequence[Deployment],
    scrape_code: Mapping[UUID, int],
    *,
    since: datetime,
    now: datetime,
    settings: VisitSettings,
) -> Pictures:
    place = {row.id: (scrape_code[row.scrape_id], code) for code, row in enumerate(hung)}
    rows = iter(
        Observation.objects.filter(deployment__in=hung, observed_at__gte=since, observed_at__lt=now)
        .values_list(
            "deployment_id",
            "observed_at",
            "ended_at",
            "kind",
            "species",
            "sex",
            "life_stage",
            "individual",
        )
        .iterator(chunk_size=_CHUNK)
    )
    names: dict[str, int] = {}
    species = settings.species_codes()
    parts = [np.zeros((0, 8), dtype=np.int64)]
    while chunk := list(islice(rows, _CHUNK)):
        parts.append(np.array([_codes(row, place, names, species) for row in chunk], np.int64))
    columns = np.concatenate(parts).T
    return Pictures(
        scrape=columns[0],
        hanging=columns[1],
        start_s=columns[2],
        end_s=columns[3],
        subject=columns[4],
        species=columns[5],
        deer_class=columns[6],
        individual=columns[7],
        names=tuple(names),
    )


def _codes(
    row: tuple[Any, ...],
    place: Mapping[UUID, tuple[int, int]],
    names: dict[str, int],
    species: Mapping[str, int],
) -> tuple[int, ...]:
    deployment_id, observed_at, ended_at, kind, named, sex, life_stage, individual = row
    subject, deer = _SUBJECTS.get(kind, Subject.OTHER), None
    if kind == ObservationKind.ANIMAL:
        deer = species.get(named.strip().lower())
        subject = Subject.OTHER if deer is None else Subject.DEER
    who = names.setdefault(individual, len(names)) if individual else UNIDENTIFIED
    start = seconds_of(observed_at)
    end = start if ended_at is None else max(start, seconds_of(ended_at))
    return *place[deployment_id], start, end, subject, deer or 0, deer_class(sex, life_stage), who


def _outages(hung: Sequence[Deployment], now: datetime) -> Mapping[UUID, list[effort.Outage]]:
    cameras = {row.id: str(row.camera_id) for row in hung}
    outages: dict[UUID, list[effort.Outage]] = defaultdict(list)
    for row in Outage.objects.filter(deployment__in=hung, starts_at__lt=now).order_by("id"):
        outages[row.deployment_id].append(
            effort.Outage(
                camera=cameras[row.deployment_id],
                start_s=seconds_of(row.starts_at),
                end_s=None if row.ends_at is None else seconds_of(row.ends_at),
            )
        )
    return outages


def _hanging(
    row: Deployment,
    evidence: CameraEvidence,
    outages: Iterable[effort.Outage],
    statuses: Iterable[CameraStatus],
    *,
    code: int,
) -> Hanging:
    unjudged = CameraHealth(
        camera=row.camera.name, state=CameraState.UNKNOWN, findings=(), empty_s=None
    )
    return Hanging(
        code=code,
        deployment=effort.Deployment(
            camera=str(row.camera_id),
            start_s=evidence.deployed_s,
            end_s=None if row.ends_at is None else seconds_of(row.ends_at),
            known_up_to_s=evidence.known_up_to_s,
        ),
        outages=tuple(outages),
        camera_id=row.camera_id,
        longitude=row.longitude,
        latitude=row.latitude,
        heading_deg=row.heading_deg,
        read_up_to_s=evidence.known_up_to_s,
        pulled_s=tuple(seconds_of(one.reported_at) for one in statuses if one.card_pulled),
        health=unjudged,
    )

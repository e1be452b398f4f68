"""Learn the wind of each stand from what was felt there."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

import numpy as np
from django.db import transaction

from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.stands.models import Stand
from properties.wind.evidence import WindReport, wind_reports_of
from properties.wind.expected_wind import ExpectedWind, expected_winds
from properties.wind.learning_settings import StandWindSettings
from properties.wind.models import StandWind
from properties.wind.settings import WindSettings
from properties.wind.stand_wind import StandWindLearned, WindPairs, learn_stand_wind
from properties.wind.stand_wind_queries import stand_wind_settings

Pair = tuple[WindReport, ExpectedWind]


@dataclass(frozen=True, kw_only=True)
class LearnedWinds:
    """What came of the reports: each is used, or left out for a reason that is counted."""

    reports: int
    used: int
    in_light_wind: int
    without_weather: int
    stands: int
    changed: int
    unsteady: int

    @property
    def reconciliation(self) -> str:
        return (
            f"{self.reports} reports = {self.used} used + {self.in_light_wind} in light or "
            f"variable wind + {self.without_weather} without a known wind; {self.stands} stands "
            f"learned, {self.changed} changed, {self.unsteady} whose wind does not hold"
        )


def learn_stand_winds(*, land: Property, now: datetime) -> LearnedWinds:
    """Learn offset and spread of every stand of a property that anybody reported from.

    Rows whose figures stand are left as they are. A stand of which no report can be used
    any longer loses its row, and with it returns to the prior.
    """
    stands = {stand.id: stand for stand in Stand.objects.filter(property=land)}
    reports = [report for report in wind_reports_of(land) if report.stand_id in stands]
    common = layered_settings.resolve(StandWindSettings, *setting_layers(land))
    winds = expected_winds(
        land,
        [report.felt_at for report in reports],
        observation_error_deg=common.observation_error_deg,
        settings=layered_settings.resolve(WindSettings, *setting_layers(land)),
    )
    known = [(report, wind) for report, wind in zip(reports, winds, strict=True) if wind]
    by_stand: dict[UUID, list[Pair]] = {}
    for report, wind in known:
        limit = stand_wind_settings(land, stands[report.stand_id]).least_speed_mps
        if wind.from_deg is not None and wind.speed_mps >= limit:
            by_stand.setdefault(report.stand_id, []).append((report, wind))
    learned = {
        stand_id: learn_stand_wind(
            _pairs(pairs), settings=stand_wind_settings(land, stands[stand_id])
        )
        for stand_id, pairs in by_stand.items()
    }
    used = sum(len(pairs) for pairs in by_stand.values())
    return LearnedWinds(
        reports=len(reports),
        used=used,
        in_light_wind=len(known) - used,
        without_weather=len(reports) - len(known),
        stands=len(learned),
        changed=_store(land, learned, now),
        unsteady=sum(not found.holds for found in learned.values()),
    )


def _pairs(pairs: Sequence[Pair]) -> WindPairs:
    numbers = {sit_id: number for number, sit_id in enumerate({r.sit_id: None for r, _ in pairs})}
    return WindPairs(
        felt_from_deg=np.array([report.from_deg for report, _ in pairs]),
        expected_from_deg=np.array([wind.from_deg for _, wind in pairs], dtype=float),
        error_deg=np.array([wind.error_deg for _, wind in pairs]),
        sit=np.array([numbers[report.sit_id] for report, _ in pairs]),
    )


@transaction.atomic
def _store(land: Property, learned: Mapping[UUID, StandWindLearned], now: datetime) -> int:
    held = {row.stand_id: row for row in StandWind.objects.filter(property=land)}
    gone = [row.id for stand_id, row in held.items() if stand_id not in learned]
    StandWind.objects.filter(id__in=gone).delete()
    changed = len(gone)
    for stand_id, found in learned.items():
        fields = _fields(found)
        fingerprint = hashlib.sha256(json.dumps(fields, sort_keys=True).encode()).hexdigest()
        if stand_id in held and held[stand_id].fingerprint == fingerprint:
            continue
        StandWind.objects.update_or_create(
            stand_id=stand_id,
            defaults={
                "property": land,
                "learned_at": now,
                "fingerprint": fingerprint,
                **fields,
            },
        )
        changed += 1
    return changed


def _fields(found: StandWindLearned) -> dict[str, object]:
    return {
        "offset_deg": _tenths(found.offset_deg),
        "spread_deg": _tenths(found.spread_deg),
        "counts": [int(count) for count in found.counts],
        "reports": found.reports,
        "found_spread_deg": None
        if found.found_spread_deg is None
        else round(found.found_spread_deg, 1),
        "holds": found.holds,
        "unsteady_sectors": list(found.unsteady_sectors),
    }


def _tenths(values: Iterable[float]) -> list[float]:
    # Zero added so that no -0.0 is stored.
    return [round(float(value), 1) + 0.0 for value in values]

"""Wind and fits that an actor may see."""

from collections.abc import Collection, Mapping
from datetime import date, datetime
from typing import NamedTuple
from uuid import UUID

from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.access.scoping import scoped
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.sessions.kinds import SessionKey, SessionKind
from properties.wind.models import (
    FitCalibration,
    ForecastIssue,
    ObservedHour,
    SessionFit,
    WindHistory,
)
from properties.wind.sectors import sector_of
from properties.wind.weather_hours import PlausibleWeather

FitAt = tuple[UUID, SessionKey]


class StoredFit(NamedTuple):
    """A row of :class:`SessionFit` without its detail; named as its columns are."""

    stand_id: UUID
    local_date: date
    kind: str
    issue_id: UUID | None
    fit: float | None
    worst_place: float | None
    fits: bool
    verdict: str
    sector_per_mille: list[int]
    gust_mps: float | None
    main_reason: str


def issues_visible_to(
    *, actor: Actor, action: Action = Action.WIND_READ
) -> QuerySet[ForecastIssue]:
    return scoped(ForecastIssue.objects.all(), actor=actor, action=action)


def observed_hours_visible_to(
    *, actor: Actor, action: Action = Action.WIND_READ
) -> QuerySet[ObservedHour]:
    return scoped(ObservedHour.objects.all(), actor=actor, action=action)


def fits_visible_to(*, actor: Actor, action: Action = Action.FIT_READ) -> QuerySet[SessionFit]:
    return scoped(SessionFit.objects.all(), actor=actor, action=action)


def calibrations_visible_to(
    *, actor: Actor, action: Action = Action.CALIBRATION_READ
) -> QuerySet[FitCalibration]:
    return scoped(FitCalibration.objects.all(), actor=actor, action=action)


def histories_visible_to(
    *, actor: Actor, action: Action = Action.FIT_READ
) -> QuerySet[WindHistory]:
    return scoped(WindHistory.objects.all(), actor=actor, action=action)


def plausible_weather(land: Property) -> PlausibleWeather:
    """What weather is believed on a property."""
    return layered_settings.resolve(PlausibleWeather, *setting_layers(land))


def latest_issue(land: Property, *, known_at: datetime | None = None) -> ForecastIssue | None:
    """The newest forecast of a property; with ``known_at`` the newest received by then."""
    issues = ForecastIssue.objects.filter(property=land)
    if known_at is not None:
        issues = issues.filter(received_at__lte=known_at)
    return issues.order_by("-issued_at", "-received_at").first()


def fits_of(
    *, property_ids: Collection[UUID], first_on: date, last_on: date
) -> Mapping[FitAt, StoredFit]:
    """The stored fits of properties over days, by stand and session; one query, no detail."""
    rows = SessionFit.objects.filter(
        property_id__in=property_ids, local_date__range=(first_on, last_on)
    ).values_list(*StoredFit._fields)
    found = map(StoredFit._make, rows)
    return {(row.stand_id, SessionKey(row.local_date, _KINDS[row.kind])): row for row in found}


_KINDS = {kind.value: kind for kind in SessionKind}


def observed_sector(*, property_id: UUID, starts_at: datetime, ends_at: datetime) -> int | None:
    """The sector in which the wind stood longest while a session lasted; None if not known."""
    directions = ObservedHour.objects.filter(
        property_id=property_id,
        starts_at__gte=starts_at,
        starts_at__lt=ends_at,
        wind_from_deg__isnull=False,
        speed_mps__gt=0,
    ).values_list("wind_from_deg", flat=True)
    counts: dict[int, int] = {}
    for direction in directions:
        sector = int(sector_of(direction or 0.0))
        counts[sector] = counts.get(sector, 0) + 1
    if not counts:
        return None
    return min(counts, key=lambda sector: (-counts[sector], sector))

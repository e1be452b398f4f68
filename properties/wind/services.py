"""Take wind in and keep it; what was known when can be told later."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.outbox import services as outbox
from properties.land.models import Property
from properties.wind.columns import WeatherColumns
from properties.wind.models import ForecastIssue, ObservedHour
from properties.wind.weather_hours import WeatherHour, WeatherImport

FORECAST_ARRIVED = "wind.forecast_arrived"
BATCH = 500


@dataclass(frozen=True, kw_only=True)
class StoredForecast:
    """An issue and whether it was new; what is known already is not stored again."""

    issue: ForecastIssue
    is_new: bool


@dataclass(frozen=True, kw_only=True)
class StoredObservations:
    """Hours taken that were new, and hours that were held already."""

    new: int
    held_already: int


@transaction.atomic
def store_forecast(
    *, actor: Actor, land: Property, found: WeatherImport, source: str, now: datetime
) -> StoredForecast:
    """Keep one issue of a forecast.

    An issue without its own time counts as issued ``now``. Raises ``ValidationError`` when
    nothing in it can be used.
    """
    actor.require(Action.WIND_WRITE, land.id)
    if not found.hours:
        raise ValidationError(f"No hour of the forecast can be used: {found.reconciliation}")
    columns = WeatherColumns.of_hours(found.hours)
    issued_at = found.issued_at or now
    issue, is_new = ForecastIssue.objects.get_or_create(
        property=land,
        fingerprint=columns.fingerprint(source=source, issued_at=issued_at),
        defaults={
            "source": source,
            "issued_at": issued_at,
            "received_at": now,
            "first_hour_at": columns.starts_at[0],
            "last_hour_at": columns.starts_at[-1],
            "hours": columns.as_json(),
        },
    )
    if is_new:
        _record(actor, issue, land.id, now, found.reconciliation)
        outbox.publish(
            topic=FORECAST_ARRIVED, ids={"property": land.id, "issue": issue.id}, now=now
        )
    return StoredForecast(issue=issue, is_new=is_new)


@transaction.atomic
def store_observations(
    *, actor: Actor, land: Property, hours: Sequence[WeatherHour], source: str, now: datetime
) -> StoredObservations:
    """Keep observed hours; an instant that a source told already is left as it was."""
    actor.require(Action.WIND_WRITE, land.id)
    held = set(
        ObservedHour.objects.filter(
            property=land, source=source, starts_at__in=[hour.instant for hour in hours]
        ).values_list("starts_at", flat=True)
        if len(hours) <= BATCH
        else ObservedHour.objects.filter(property=land, source=source).values_list(
            "starts_at", flat=True
        )
    )
    fresh = {hour.instant: hour for hour in hours if hour.instant not in held}
    ObservedHour.objects.bulk_create(
        [_observed(land, hour, source) for hour in fresh.values()],
        batch_size=BATCH,
        ignore_conflicts=True,
    )
    if fresh:
        _record(actor, land, land.id, now, f"{len(fresh)} observed hours from {source}")
    return StoredObservations(new=len(fresh), held_already=len(hours) - len(fresh))


def _observed(land: Property, hour: WeatherHour, source: str) -> ObservedHour:
    return ObservedHour(
        property=land,
        source=source,
        starts_at=hour.instant,
        wind_from_deg=hour.wind_from_deg,
        variable=hour.variable,
        speed_mps=hour.speed_mps,
        gust_mps=hour.gust_mps,
        cloud_fraction=hour.cloud_fraction,
        temperature_c=hour.temperature_c,
        precipitation_mm=hour.precipitation_mm,
        raw=hour.raw,
    )


def _record(
    actor: Actor, target: ForecastIssue | Property, property_id: UUID, now: datetime, reason: str
) -> None:
    audit.record(
        actor=actor,
        action=Action.WIND_WRITE,
        target=target,
        now=now,
        property_id=property_id,
        reason=reason[:500],
    )

"""The two daily jobs of leases: letters ahead, and closing when a term has passed."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from coop.access.actors import system_actor
from coop.jobs import registry
from properties.land.models import Property
from properties.land.property_jobs import due_for, property_of
from properties.leases import term_services
from properties.leases.models import Lease
from properties.leases.queries import lease_settings_of

ANNOUNCE = "leases.announce"
CLOSE = "leases.close"


def register() -> None:
    """Called once by the app when it is ready."""
    registry.register_job(ANNOUNCE, announce_job)
    registry.register_schedule(ANNOUNCE, announcements_due)
    registry.register_job(CLOSE, close_job, urgency=registry.Urgency.URGENT)
    registry.register_schedule(CLOSE, closings_due)


def announce_job(job: registry.JobContext) -> dict[str, Any]:
    """Announce what comes near on one property (parameter ``property``: its id)."""
    land = property_of(job)
    done = term_services.announce(actor=system_actor(ANNOUNCE), land=land, now=job.now)
    return {"letters": done.letters}


def close_job(job: registry.JobContext) -> dict[str, Any]:
    """Close one property if its lease has passed (parameter ``property``: its id)."""
    land = property_of(job)
    closure = term_services.close_after_term(actor=system_actor(CLOSE), land=land, now=job.now)
    return {"closure": None if closure is None else str(closure.id)}


def announcements_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once in each property's local day, from the hour of its settings on."""
    for land in _leased():
        local = now.astimezone(ZoneInfo(land.time_zone))
        if local.hour >= lease_settings_of(land).announce_hour:
            yield _due(ANNOUNCE, land, local)


def closings_due(now: datetime) -> Iterable[registry.DueJob]:
    """Once in each property's local day, as soon as it begins."""
    for land in _leased():
        yield _due(CLOSE, land, now.astimezone(ZoneInfo(land.time_zone)))


def _leased() -> Iterator[Property]:
    leased = Lease.objects.filter(withdrawn_at=None).values("property")
    lands = Property.objects.filter(id__in=leased, retired_at=None)
    yield from lands.select_related("cooperative").order_by("id")


def _due(name: str, land: Property, local: datetime) -> registry.DueJob:
    return due_for(land.id, name=name, period=f"{local:%Y-%m-%d}")

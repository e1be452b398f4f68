"""The job of this room: give past sits the wind that was observed once it is known."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from coop.access.actors import Actor, system_actor
from coop.access.roles import Action
from coop.audit import writing
from coop.jobs import registry
from properties.land.models import Property
from properties.land.property_jobs import due_for, property_of
from scheduling.sits.life_services import sector_observed
from scheduling.sits.models import Sit, SitState

OBSERVE_WINDS = "sits.observe_winds"
LOOKS_BACK_DAYS = 45
_SAT = (SitState.CHECKED_IN, SitState.CHECKED_OUT, SitState.REPORTED)


@dataclass(frozen=True, kw_only=True)
class ObservedWinds:
    """The reconciliation: past sits without a wind, how many got one, how many still have none."""

    looked_at: int
    filled: int

    @property
    def still_unknown(self) -> int:
        return self.looked_at - self.filled


def observe_winds(*, land: Property, actor: Actor, now: datetime) -> ObservedWinds:
    """Fill ``observed_sector`` of past sits from observations that came in later."""
    without = Sit.objects.filter(
        property=land,
        observed_sector=None,
        state__in=_SAT,
        ends_at__lt=now,
        ends_at__gte=now - timedelta(days=LOOKS_BACK_DAYS),
    ).order_by("id")
    ids = list(without.values_list("id", flat=True))
    filled = sum(_fill(sit_id, actor, now) for sit_id in ids)
    return ObservedWinds(looked_at=len(ids), filled=filled)


@transaction.atomic
def _fill(sit_id: Any, actor: Actor, now: datetime) -> bool:
    sit = Sit.objects.select_for_update().get(id=sit_id)
    sector = sector_observed(sit, until=sit.checked_out_at or sit.ends_at)
    if sit.observed_sector is not None or sector is None:
        return False
    writing.change(
        sit,
        {"observed_sector": sector},
        actor=actor,
        action=Action.SIT_MANAGE,
        now=now,
        property_id=sit.property_id,
        reason="wind observed",
    )
    return True


def observe_winds_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; running it twice fills nothing twice."""
    land = property_of(job)
    done = observe_winds(land=land, actor=system_actor(OBSERVE_WINDS), now=job.now)
    return {
        "looked_at": done.looked_at,
        "filled": done.filled,
        "still_unknown": done.still_unknown,
    }


def winds_due(now: datetime) -> Iterable[registry.DueJob]:
    """Four times a day for every property: observations arrive late and in bulk."""
    for land in Property.objects.filter(retired_at=None):
        yield due_for(land.id, name=OBSERVE_WINDS, period=f"{now:%Y-%m-%d}T{now.hour // 6 * 6:02d}")

"""The job that ends offers of sits whose session has begun."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from coop.access.actors import system_actor
from coop.jobs import registry
from properties.land.property_jobs import due_for, period_of_minutes, property_id_of
from scheduling.sits.transfer_endings import lapse_begun
from scheduling.sits.transfer_models import SitTransfer, TransferState

END_OFFERS = "sits.end_offers"
EVERY_MIN = 5


def end_offers_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; an offer that has ended is not ended again."""
    ended = lapse_begun(
        property_id=property_id_of(job), actor=system_actor(END_OFFERS), now=job.now
    )
    return {"ended": ended}


def offers_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every few minutes for each property with an offer whose session began."""
    period = period_of_minutes(now, EVERY_MIN)
    begun = SitTransfer.objects.filter(state=TransferState.OFFERED, sit__starts_at__lte=now)
    for property_id in begun.order_by("property").values_list("property_id", flat=True).distinct():
        yield due_for(property_id, name=END_OFFERS, period=period)

"""The job that ends offers of sits whose session has begun."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from coop.access.actors import system_actor
from coop.jobs import registry
from scheduling.sits.transfer_models import SitTransfer, TransferState
from scheduling.sits.transfer_services import lapse_begun

END_OFFERS = "sits.end_offers"
EVERY_MIN = 5


def end_offers_job(job: registry.JobContext) -> dict[str, Any]:
    """The handler; an offer that has ended is not ended again."""
    ended = lapse_begun(
        property_id=UUID(job.parameters["property"]), actor=system_actor(END_OFFERS), now=job.now
    )
    return {"ended": ended}


def offers_due(now: datetime) -> Iterable[registry.DueJob]:
    """Every few minutes for each property with an offer whose session began."""
    period = f"{now:%Y-%m-%dT%H}:{now.minute // EVERY_MIN * EVERY_MIN:02d}"
    begun = SitTransfer.objects.filter(state=TransferState.OFFERED, sit__starts_at__lte=now)
    for property_id in begun.order_by("property").values_list("property_id", flat=True).distinct():
        yield registry.DueJob(
            name=END_OFFERS,
            scope=str(property_id),
            period=period,
            property_id=property_id,
            parameters={"property": str(property_id)},
        )

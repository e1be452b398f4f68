"""How offers of sits end: written once, and those that lapse because the sit went on or began."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction

from coop.access.actors import Actor, system_actor
from coop.access.roles import Action
from coop.audit import writing
from scheduling.sits import transfer_notices
from scheduling.sits.models import Sit, SitState
from scheduling.sits.transfer_models import SitTransfer, TransferState

LAPSER = "offers of sits"


def sit_went_on(ids: Mapping[str, str], now: datetime) -> None:
    """A sit was cancelled, checked in or missed: nobody can take it over any more."""
    sit = Sit.objects.select_related("stand", "property").get(id=UUID(ids["sit"]))
    if sit.state != SitState.BOOKED:
        lapse_offers(system_actor(LAPSER), sit, "The sit is not open any more.", now)


@transaction.atomic
def lapse_begun(*, property_id: UUID, actor: Actor, now: datetime) -> int:
    """End the offers of a property whose session began; returns how many. Safe to run twice."""
    begun = SitTransfer.objects.filter(
        property=property_id, state=TransferState.OFFERED, sit__starts_at__lte=now
    )
    ids = list(begun.order_by("id").values_list("sit_id", flat=True))
    for sit in Sit.objects.select_related("stand", "property").filter(id__in=ids).order_by("id"):
        lapse_offers(actor, sit, "The session has begun.", now)
    return len(ids)


def end_transfer(
    actor: Actor, transfer: SitTransfer, state: TransferState, now: datetime, *, answer: str = ""
) -> None:
    """Write how an offer ended; inside the caller's transaction, which holds its row."""
    writing.change(
        transfer,
        {"state": state, "ended_at": now, "answer": answer},
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=transfer.property_id,
        reason=answer,
    )


def lapse_offers(actor: Actor, sit: Sit, why: str, now: datetime) -> None:
    """End the open offers of a sit and tell both sides why; inside the caller's transaction."""
    rows = SitTransfer.objects.select_for_update(of=("self",)).filter(
        sit=sit, state=TransferState.OFFERED
    )
    for transfer in rows.select_related("giver", "receiver", "sit__stand", "sit__property"):
        end_transfer(actor, transfer, TransferState.LAPSED, now)
        what = f"The offer of a sit from {transfer.giver.name} ended. {why}"
        for person in (transfer.giver, transfer.receiver):
            transfer_notices.tell_of_end(transfer, person, what=what, now=now)

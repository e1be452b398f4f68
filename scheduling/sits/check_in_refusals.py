"""What keeps from a stand somebody who has booked it: closed meanwhile, or no adult beside."""

from properties.land.closure_words import as_ending
from properties.people.youth_services import is_youth
from scheduling.rules.refusal import Refusal
from scheduling.sits.closed_ground import closure_over
from scheduling.sits.models import Sit, SitState
from scheduling.sits.problems import refused


def check_still_open(sit: Sit) -> None:
    """Raise :class:`Refused` where the stand or its ground was closed since the sit was booked."""
    closure = closure_over(sit)
    if closure is not None:
        whole = closure.part is None
        ground = sit.property.name if whole else f"the part of {sit.property.name} with this stand"
        raise refused(
            [
                Refusal(
                    code="property_closed" if whole else "part_closed",
                    sentence=(
                        f"Since this sit was booked, {ground} was closed: "
                        f"{as_ending(closure.reason)}"
                    ),
                    facts={"reason": closure.reason},
                )
            ]
        )
    if sit.stand.is_open and sit.stand.retired_at is None:
        return
    why = sit.stand.closed_reason
    sentence = f"{sit.stand.name} has been closed since this sit was booked: {as_ending(why)}"
    raise refused([Refusal(code="stand_closed", sentence=sentence, facts={"reason": why})])


def check_supervised(sit: Sit) -> None:
    """Raise :class:`Refused` for a young hunter who came along where the adult is not there yet."""
    if sit.host_id is None:
        return
    beside = Sit.objects.filter(
        person=sit.host_id,
        stand=sit.stand_id,
        local_date=sit.local_date,
        span=sit.span,
        is_supervising=True,
    )
    if not is_youth(sit.person_id, on=sit.local_date):
        return
    if not beside.filter(state=SitState.CHECKED_IN).exists():
        sentence = "The adult who supervises this young hunter checks in first, in the same stand."
        raise refused([Refusal(code="youth_alone", sentence=sentence)])

"""Messages about sits that pass from one member to another."""

from datetime import datetime

from properties.people.models import Person
from scheduling.sits.models import Sit
from scheduling.sits.notices import session_words, tell_person
from scheduling.sits.transfer_models import SitTransfer

_GO_NO_MORE = "You have no seat there any more: please do not go to the stand for it."


def tell_of_offer(transfer: SitTransfer, *, now: datetime) -> None:
    """Tell the receiver what is offered; it is theirs only once they accept."""
    sit, words = transfer.sit, f"\n\nThey write: {transfer.message}" if transfer.message else ""
    _tell(
        transfer,
        transfer.receiver,
        "offered",
        subject=f"{transfer.giver.name} offers you a sit: {_short(sit)}",
        text=(
            f"{transfer.giver.name} offers you {_where(sit)}.{words}\n\n"
            "Accept or decline it. Until you accept it is not yours, and the house rules are "
            "asked again when you do. The offer ends when the session begins."
        ),
        now=now,
    )


def tell_of_handover(transfer: SitTransfer, *, by_manager: str, now: datetime) -> None:
    """Tell both that the sit has passed; ``by_manager`` names who decided it, if neither did."""
    sit = transfer.sit
    why = f" {by_manager} moved it: {transfer.answer}" if by_manager else ""
    _tell(
        transfer,
        transfer.giver,
        "handed-over",
        subject=f"{transfer.receiver.name} has your sit now: {_short(sit)}",
        text=f"{_where(sit)} now belongs to {transfer.receiver.name}.{why}\n\n{_GO_NO_MORE}",
        now=now,
    )
    _tell(
        transfer,
        transfer.receiver,
        "handed-over",
        subject=f"The sit is yours: {_short(sit)}",
        text=(
            f"{_where(sit)}, which {transfer.giver.name} held, is yours.{why}\n\n"
            "Cancel it or offer it to somebody else if you cannot go."
        ),
        now=now,
    )


def tell_of_end(transfer: SitTransfer, person: Person, *, what: str, now: datetime) -> None:
    """Tell one side that an offer ended without a handover; ``what`` is a sentence."""
    sit = transfer.sit
    answer = f"\n\nThey write: {transfer.answer}" if transfer.answer else ""
    _tell(
        transfer,
        person,
        transfer.state,
        subject=f"Offer of a sit ended: {_short(sit)}",
        text=f"{what} It was {_where(sit)}.{answer}",
        now=now,
    )


def _tell(
    transfer: SitTransfer, person: Person, what: str, *, subject: str, text: str, now: datetime
) -> None:
    tell_person(
        person, once_key=f"transfer-{what}:{transfer.id}", subject=subject, text=text, now=now
    )


def _short(sit: Sit) -> str:
    return f"{sit.stand.name}, {sit.local_date:%d %b %Y}"


def _where(sit: Sit) -> str:
    return f"{sit.stand.name} on {sit.property.name} in {session_words(sit)}"

"""Sits that pass from one member to another: offered, accepted, declined, taken back.

Accepting is a booking by the receiver: the same rules under the same locks, in one
transaction. The sit stays one sit; only its person changes.
"""

from collections.abc import Mapping
from datetime import datetime

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from properties.people.models import Person
from properties.people.queries import units_of
from properties.stands.queries import sees_details
from scheduling.rules.judge import left_standing
from scheduling.sits import transfer_notices
from scheduling.sits.booking_services import Overrule, check_overrule
from scheduling.sits.handing_over import change_place
from scheduling.sits.life_services import guest_sits, locked, shown_clock
from scheduling.sits.models import Sit, SitOrigin, SitState
from scheduling.sits.people_queries import may_sit_on
from scheduling.sits.problems import SeatTaken, refused
from scheduling.sits.seat_judgement import Party, judge_seat, lock_seat
from scheduling.sits.transfer_endings import end_transfer, lapse_offers
from scheduling.sits.transfer_models import SitTransfer, TransferState

SIT_HANDED_OVER = "sit.handed_over"
KEPT_BY_MEMBERS = "handed over from one member to another"


@transaction.atomic
def offer_sit(
    *, actor: Actor, sit: Sit, receiver: Person, message: str, now: datetime
) -> SitTransfer:
    """Offer one's own booked sit to another member; it stays one's own until accepted.

    Raises ``PermissionDenied``, :class:`WrongOrder` and ``ValidationError`` by field.
    """
    sit = locked(sit)
    if actor.person_id is None or actor.person_id != sit.person_id:
        raise PermissionDenied("only whoever holds a sit offers it; a manager transfers it")
    actor.require(Action.SIT_BOOK, sit.property_id)
    _check_can_pass(sit, now)
    _check_receiver(sit, receiver)
    if SitTransfer.objects.filter(sit=sit, state=TransferState.OFFERED).exists():
        raise WrongOrder("This sit is offered to somebody already; take that offer back first.")
    transfer = _kept(actor, sit, receiver, now, message=message)
    transfer_notices.tell_of_offer(transfer, now=now)
    return transfer


def accept_sit(
    *, actor: Actor, transfer: SitTransfer, now: datetime, weapon: str = ""
) -> SitTransfer:
    """Take over an offered sit, judged as a booking by the receiver.

    A refusal leaves the offer open. Raises :class:`Refused` with every objection,
    :class:`SeatTaken`, :class:`WrongOrder` and ``PermissionDenied``.
    """
    _require_receiver(actor, transfer)
    try:
        with transaction.atomic():
            sit = _locked_for(transfer.sit, transfer.receiver)
            transfer = _locked_open(transfer)
            if sit.person_id != transfer.giver_id or sit.stand_id != transfer.stand_id:
                raise WrongOrder("The sit was moved since it was offered; ask for a new offer.")
            _check_can_pass(sit, now)
            changes = _judged_changes(actor, sit, transfer.receiver, weapon, None, now)
            _hand_over(actor, sit, transfer.receiver, changes, now, reason="accepted an offer")
            transfer.sit = sit
            end_transfer(actor, transfer, TransferState.ACCEPTED, now)
            transfer_notices.tell_of_handover(transfer, by_manager="", now=now)
            return transfer
    except IntegrityError as error:
        raise SeatTaken("You have another seat in that session since a moment ago.") from error


@transaction.atomic
def decline_sit(*, actor: Actor, transfer: SitTransfer, reason: str, now: datetime) -> SitTransfer:
    """Say no to an offer; the giver keeps the sit and is told."""
    _require_receiver(actor, transfer)
    transfer = _locked_open(transfer)
    end_transfer(actor, transfer, TransferState.DECLINED, now, answer=reason)
    what = f"{transfer.receiver.name} declined the sit you offered; it is still yours."
    transfer_notices.tell_of_end(transfer, transfer.giver, what=what, now=now)
    return transfer


@transaction.atomic
def withdraw_offer(
    *, actor: Actor, transfer: SitTransfer, reason: str, now: datetime
) -> SitTransfer:
    """Take an offer back: the giver, or a manager there."""
    if actor.person_id is None or actor.person_id != transfer.giver_id:
        actor.require(Action.SIT_MANAGE, transfer.property_id)
    transfer = _locked_open(transfer)
    end_transfer(actor, transfer, TransferState.WITHDRAWN, now, answer=reason)
    what = f"The sit that {transfer.giver.name} offered you is not offered any more."
    transfer_notices.tell_of_end(transfer, transfer.receiver, what=what, now=now)
    return transfer


def transfer_sit(
    *,
    actor: Actor,
    sit: Sit,
    receiver: Person,
    reason: str,
    now: datetime,
    weapon: str = "",
    overrule: Overrule | None = None,
) -> Sit:
    """A manager gives somebody's booked sit to another member, with a reason.

    The rules are judged for the receiver; what may be overruled may be set aside. An open
    offer of the sit ends. Raises as :func:`accept_sit`, and ``ValidationError`` by field.
    """
    actor.require(Action.SIT_MANAGE, sit.property_id)
    if not reason.strip():
        raise ValidationError({"reason": "Say why the sit goes to somebody else."})
    if overrule is not None:
        check_overrule(actor, overrule, sit.property_id)
    try:
        with transaction.atomic():
            sit = _locked_for(sit, receiver)
            _check_can_pass(sit, now)
            _check_receiver(sit, receiver)
            changes = _judged_changes(actor, sit, receiver, weapon, overrule, now)
            lapse_offers(actor, sit, "A manager gave the sit to somebody else.", now)
            transfer = _kept(actor, sit, receiver, now)
            _hand_over(actor, sit, receiver, changes, now, reason=reason)
            transfer.sit = sit
            end_transfer(actor, transfer, TransferState.ACCEPTED, now, answer=reason)
            transfer_notices.tell_of_handover(transfer, by_manager=actor.name, now=now)
            return sit
    except IntegrityError as error:
        raise SeatTaken("They have another seat in that session since a moment ago.") from error


def _require_receiver(actor: Actor, transfer: SitTransfer) -> None:
    if actor.person_id is None or actor.person_id != transfer.receiver_id:
        raise PermissionDenied("only whom a sit was offered to answers the offer")
    actor.require(Action.SIT_BOOK, transfer.property_id)


def _check_can_pass(sit: Sit, now: datetime) -> None:
    if sit.outfitter_id is not None or sit.host_id is not None:
        raise ValidationError({"sit": "A guest's or a client's sit stays with that person."})
    if sit.state != SitState.BOOKED:
        raise WrongOrder("Only a booked sit goes to somebody else.")
    if now >= sit.starts_at:
        raise WrongOrder(f"The session began at {shown_clock(sit.starts_at, sit)}.")
    if guest_sits(sit, SitState.BOOKED):
        raise WrongOrder("Guests come along in this sit; cancel their sits first.")


def _check_receiver(sit: Sit, receiver: Person) -> None:
    if receiver.id == sit.person_id:
        raise ValidationError({"receiver": f"{receiver.name} holds this sit."})
    if receiver.host_id is not None or not may_sit_on(receiver.id, sit.property):
        raise ValidationError(
            {"receiver": f"{receiver.name} has no role that lets them sit there."}
        )


def _locked_for(sit: Sit, receiver: Person) -> Sit:
    """The sit under the locks of a booking: property, stand, both persons, then its row."""
    lock_seat(sit.stand, (sit.person, receiver))
    now_there = locked(sit)
    if (now_there.stand_id, now_there.person_id) != (sit.stand_id, sit.person_id):
        raise WrongOrder("The sit was moved a moment ago; look at it again.")
    return now_there


def _locked_open(transfer: SitTransfer) -> SitTransfer:
    transfer = (
        SitTransfer.objects.select_for_update(of=("self",))
        .select_related("giver", "receiver", "sit__stand", "sit__property", "stand")
        .get(id=transfer.id)
    )
    if transfer.state != TransferState.OFFERED:
        raise WrongOrder(f"This offer is {transfer.state}.")
    return transfer


def _judged_changes(
    actor: Actor,
    sit: Sit,
    receiver: Person,
    weapon: str,
    overrule: Overrule | None,
    now: datetime,
) -> dict[str, object]:
    judged = judge_seat(
        land=sit.property,
        stand=sit.stand,
        local_date=sit.local_date,
        span=sit.span,
        party=Party(person=receiver),
        weapon=weapon,
        without_sit=sit.id,
        now=now,
    )
    standing = left_standing(judged.objections, overruled=overrule.codes if overrule else ())
    if standing:
        raise refused(
            standing,
            names_places=sees_details(actor=actor, property_id=sit.property_id),
            units=units_of(actor),
        )
    return {
        "person": receiver,
        # The giver's weapon says nothing of the receiver's.
        "weapon": weapon,
        "overrule_reason": overrule.reason if overrule else "",
        # A plan leaves alone what members settled among themselves.
        "lock_reason": KEPT_BY_MEMBERS if sit.origin == SitOrigin.ROTATION else sit.lock_reason,
        **judged.known_now(),
    }


def _hand_over(
    actor: Actor,
    sit: Sit,
    receiver: Person,
    changes: Mapping[str, object],
    now: datetime,
    *,
    reason: str,
) -> None:
    giver_id = sit.person_id
    change_place(actor=actor, sit=sit, changes=changes, now=now, reason=reason)
    ids = {
        "sit": sit.id,
        "property": sit.property_id,
        "stand": sit.stand_id,
        "person": receiver.id,
        "former_person": giver_id,
    }
    outbox.publish(topic=SIT_HANDED_OVER, ids=ids, now=now)


def _kept(
    actor: Actor, sit: Sit, receiver: Person, now: datetime, *, message: str = ""
) -> SitTransfer:
    transfer = SitTransfer(
        property=sit.property,
        sit=sit,
        stand=sit.stand,
        giver=sit.person,
        receiver=receiver,
        message=message,
        offered_at=now,
    )
    return writing.create(
        transfer, actor=actor, action=Action.SIT_BOOK, now=now, property_id=sit.property_id
    )

"""Ask about hunters who have not come back; take their answers."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import services as audit
from coop.audit import writing
from scheduling.sits import overdue_notices
from scheduling.sits.life_services import guest_sits, locked, locked_own, shown_clock
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit, SitState
from scheduling.sits.overdue_ladder import (
    Answer,
    Ladder,
    Pace,
    Rung,
    Watched,
    answered,
    asked_again,
    managers_are_alarmed,
    rung_due,
)
from scheduling.sits.overdue_models import OverdueNotice
from scheduling.sits.overdue_queries import OUT_THERE, marks_of, unanswered
from scheduling.sits.settings import SitSettings


def watch_overdue(*, property_id: UUID, actor: Actor, now: datetime) -> Watched:
    """Raise for each overdue sit of a property the rung that is due, at most one.

    Each sit is its own transaction, so a run that dies leaves whole rungs; the next run
    goes on from the rows. Running it twice raises nothing twice.
    """
    ids = list(
        unanswered(now=now)
        .filter(property=property_id)
        .order_by("ends_at", "id")
        .values_list("id", flat=True)
    )
    return Watched.of(_raise_rung(sit_id, actor, now) for sit_id in ids)


@transaction.atomic
def acknowledge(*, actor: Actor, sit: Sit, now: datetime) -> Sit:
    """Say that somebody knows: the present ladder ends, for the sit's guests as well.

    The hunter, the host, the outfitter or a manager. Raises :class:`WrongOrder` where
    nobody is out there or nobody has asked; twice changes nothing.
    """
    sit = locked_own(actor, sit)
    _require_out_there(sit)
    if sit.acknowledged_at is not None:
        return sit
    if not marks_of(sit):
        raise WrongOrder("Nobody has asked about this sit yet.")
    for each in (sit, *guest_sits(sit, *OUT_THERE)):
        if marks_of(each):
            _change(actor, each, answered(by=actor.name, now=now), now)
            how = f"{actor.name} has acknowledged the notice."
            _stand_down(each, Answer.ACKNOWLEDGED, how, now)
    return sit


@transaction.atomic
def say_back_by(*, actor: Actor, sit: Sit, back_by: datetime, now: datetime) -> Sit:
    """Tracking a deer, back by then: a new ladder begins at that time, for guests as well.

    Raises :class:`WrongOrder` for a sit that is not checked in, ``ValidationError`` for a
    time that has passed or lies too far ahead.
    """
    sit = locked_own(actor, sit)
    if sit.state != SitState.CHECKED_IN:
        raise WrongOrder("Only somebody who is checked in can be back later; check in first.")
    settings = sit_settings_of(sit.property)
    latest = shown_clock(now + timedelta(hours=settings.tracking_longest_h), sit)
    check_back_by(back_by, settings=settings, at_most=f"at the latest {latest}", now=now)
    for each in (sit, *guest_sits(sit, SitState.CHECKED_IN)):
        _ask_later(actor, each, back_by, {"tracked_at": each.tracked_at or now}, now)
    return sit


def follow_tracker(*, actor: Actor, sit: Sit, back_by: datetime, now: datetime) -> None:
    """Ask after who is checked in, and their guests, no earlier than they said as trackers.

    Whoever may say that they track says it of their sit too; the deer need not be of this sit.
    Inside the caller's transaction, which has checked ``back_by``.
    """
    sit = locked(sit)
    if sit.state != SitState.CHECKED_IN:
        return
    for each in (sit, *guest_sits(sit, SitState.CHECKED_IN)):
        _ask_later(actor, each, back_by, {}, now)


def check_back_by(back_by: datetime, *, settings: SitSettings, at_most: str, now: datetime) -> None:
    """Raise ``ValidationError`` for a time that has passed or lies too far ahead.

    ``at_most`` ends the sentence that says how far ahead it may lie.
    """
    if back_by <= now:
        raise ValidationError({"back_by": "Has passed already."})
    if back_by > now + timedelta(hours=settings.tracking_longest_h):
        raise ValidationError({"back_by": f"Lies too far ahead; {at_most}."})


def checked_out(ids: Mapping[str, str], now: datetime) -> None:
    """``sit.checked_out``, ``sit.missed``, ``sit.cancelled``: alarmed managers are told."""
    sit = locked(Sit(id=UUID(ids["sit"])))
    how = {
        SitState.MISSED: "a manager has stated that the sit did not take place.",
        SitState.CANCELLED: "the sit has been cancelled.",
    }.get(SitState(sit.state), "checked out; down and away.")
    if sit.state not in OUT_THERE:
        _stand_down(sit, Answer.OVER, how, now)


@transaction.atomic
def _raise_rung(sit_id: UUID, actor: Actor, now: datetime) -> Rung | None:
    sit = locked(Sit(id=sit_id))
    if sit.state not in OUT_THERE:
        return None
    expected_by = max(sit.ends_at, sit.back_by or sit.ends_at)
    due = rung_due(
        Ladder(
            expected_by=expected_by,
            pace=Pace.of(sit_settings_of(sit.property)),
            raised_at=marks_of(sit),
            is_answered=sit.acknowledged_at is not None,
        ),
        now=now,
    )
    if due is None:
        return None
    notice = OverdueNotice.objects.create(
        sit=sit, ladder_number=sit.ladder_number, rung=due, raised_at=now
    )
    audit.record(
        actor=actor,
        action=Action.SIT_MANAGE,
        target=notice,
        now=now,
        property_id=sit.property_id,
        reason="nobody has checked out or answered",
    )
    overdue_notices.ask(sit, due, expected_by=expected_by, now=now)
    return due


def _ask_later(
    actor: Actor, sit: Sit, back_by: datetime, more: Mapping[str, Any], now: datetime
) -> None:
    how = f"tracking a deer, back by {shown_clock(back_by, sit)}."
    _stand_down(sit, Answer.LATER, how, now)
    changes = asked_again(ladder_number=sit.ladder_number, back_by=back_by)
    _change(actor, sit, {**more, **changes}, now)


def _stand_down(sit: Sit, answer: Answer, how: str, now: datetime) -> None:
    if managers_are_alarmed(marks_of(sit)):
        overdue_notices.tell_answered(sit, answer, how=how, now=now)


def _require_out_there(sit: Sit) -> None:
    if sit.state not in OUT_THERE:
        raise WrongOrder("This sit is over: nobody is out there by its record.")


def _change(actor: Actor, sit: Sit, changes: Mapping[str, Any], now: datetime) -> None:
    writing.change(
        sit,
        changes,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=sit.property_id,
    )

"""Ask about hunters who have not come back; take their answers."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import services as audit
from coop.audit import writing
from scheduling.sits import overdue_notices
from scheduling.sits.life_services import guest_sits, locked, locked_own, shown_clock
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit, SitState
from scheduling.sits.overdue_ladder import Ladder, rung_due
from scheduling.sits.overdue_models import OverdueNotice, Rung
from scheduling.sits.problems import WrongOrder

OUT_THERE = (SitState.BOOKED, SitState.CHECKED_IN)
"""States in which somebody may be in the woods; a booked one may have forgotten to check in."""


@dataclass(frozen=True, kw_only=True)
class Watched:
    """The reconciliation: sits past their end that nobody answered for, rungs raised now."""

    looked_at: int
    raised: Mapping[Rung, int]

    @property
    def still_waiting(self) -> int:
        return self.looked_at - sum(self.raised.values())


def unanswered(*, now: datetime) -> QuerySet[Sit]:
    """Sits past their end whose ladder nobody has answered and that has rungs left."""
    last_rung = OverdueNotice.objects.filter(
        sit=OuterRef("id"), ladder_number=OuterRef("ladder_number"), rung=Rung.EMERGENCY_CONTACT
    )
    return Sit.objects.filter(
        ~Exists(last_rung),
        Q(back_by=None) | Q(back_by__lt=now),
        state__in=OUT_THERE,
        ends_at__lt=now,
        acknowledged_at=None,
    )


def overdue(sits: QuerySet[Sit]) -> QuerySet[Sit]:
    """Of ``sits`` those that somebody is being asked about, unanswered so far."""
    asked = OverdueNotice.objects.filter(
        sit=OuterRef("id"), ladder_number=OuterRef("ladder_number")
    )
    return sits.filter(Exists(asked), state__in=OUT_THERE, acknowledged_at=None)


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
    raised = dict.fromkeys(Rung, 0)
    for sit_id in ids:
        rung = _raise_rung(sit_id, actor, now)
        if rung is not None:
            raised[rung] += 1
    return Watched(looked_at=len(ids), raised=raised)


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
    if not _raised(sit):
        raise WrongOrder("Nobody has asked about this sit yet.")
    for each in (sit, *guest_sits(sit, *OUT_THERE)):
        changes = {"acknowledged_at": now, "acknowledged_by": actor.name[:200]}
        if _raised(each):
            _change(actor, each, changes, now)
            _stand_down(each, f"{actor.name} has acknowledged the notice.", now)
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
    longest = timedelta(hours=sit_settings_of(sit.property).tracking_longest_h)
    if back_by <= now:
        raise ValidationError({"back_by": "Has passed already."})
    if back_by > now + longest:
        latest = shown_clock(now + longest, sit)
        raise ValidationError({"back_by": f"Lies too far ahead; at the latest {latest}."})
    for each in (sit, *guest_sits(sit, SitState.CHECKED_IN)):
        _stand_down(each, f"tracking a deer, back by {shown_clock(back_by, each)}.", now)
        changes = {
            "back_by": back_by,
            "tracked_at": each.tracked_at or now,
            "ladder_number": each.ladder_number + 1,
            "acknowledged_at": None,
            "acknowledged_by": "",
        }
        _change(actor, each, changes, now)
    return sit


def checked_out(ids: Mapping[str, str], now: datetime) -> None:
    """``sit.checked_out``, ``sit.missed``, ``sit.cancelled``: alarmed managers are told."""
    sit = locked(Sit(id=UUID(ids["sit"])))
    how = {
        SitState.MISSED: "a manager has stated that the sit did not take place.",
        SitState.CANCELLED: "the sit has been cancelled.",
    }.get(SitState(sit.state), "checked out; down and away.")
    if sit.state not in OUT_THERE:
        _stand_down(sit, how, now)


@transaction.atomic
def _raise_rung(sit_id: UUID, actor: Actor, now: datetime) -> Rung | None:
    sit = locked(Sit(id=sit_id))
    if sit.state not in OUT_THERE:
        return None
    settings = sit_settings_of(sit.property)
    expected_by = max(sit.ends_at, sit.back_by or sit.ends_at)
    due = rung_due(
        Ladder(
            expected_by=expected_by,
            margin=timedelta(minutes=settings.overdue_margin_min),
            step=timedelta(minutes=settings.overdue_step_min),
            raised_at=_raised(sit),
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
    overdue_notices.ask(sit, Rung(due), expected_by=expected_by, now=now)
    return Rung(due)


def _raised(sit: Sit) -> dict[int, datetime]:
    rows = OverdueNotice.objects.filter(sit=sit, ladder_number=sit.ladder_number)
    return dict(rows.values_list("rung", "raised_at"))


def _stand_down(sit: Sit, how: str, now: datetime) -> None:
    if Rung.MANAGERS in _raised(sit):
        overdue_notices.tell_answered(sit, how=how, now=now)


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

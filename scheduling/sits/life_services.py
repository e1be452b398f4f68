"""The life of a sit after booking: cancelled, checked in, checked out, missed, excused."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor, ActorKind
from coop.access.roles import Action
from coop.api.problems import WrongOrder
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import shown_clock_on
from properties.wind.queries import observed_sector
from scheduling.sits import notices
from scheduling.sits.check_in_refusals import check_still_open, check_supervised
from scheduling.sits.harvest_place_services import lock_land, settle_all
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import SeatClaim, Sit, SitState
from scheduling.sits.problems import NotTheHour
from scheduling.sits.queries import is_own_sit

SIT_CANCELLED = "sit.cancelled"
SIT_CHANGED = "sit.changed"
SIT_CHECKED_IN = "sit.checked_in"
SIT_CHECKED_OUT = "sit.checked_out"
SIT_MISSED = "sit.missed"

_DONE = {
    SitState.BOOKED: "is booked",
    SitState.CHECKED_IN: "is checked in",
    SitState.CHECKED_OUT: "is checked out",
    SitState.REPORTED: "has been reported",
    SitState.CANCELLED: "was cancelled",
    SitState.MISSED: "is marked as missed",
}


@transaction.atomic
def cancel_sit(*, actor: Actor, sit: Sit, reason: str, now: datetime) -> Sit:
    """Give a booked seat back, with those of the guests; raises :class:`WrongOrder`."""
    sit = locked_own(actor, sit)
    _require_state(sit, SitState.BOOKED, "cancelled")
    for each in (sit, *guest_sits(sit, SitState.BOOKED)):
        release(actor=actor, sit=each, reason=reason, now=now)
        if not _is_own(actor, each):
            notices.tell_of_cancelled(each, reason=reason or "no reason was given", now=now)
    return sit


@transaction.atomic
def check_in(*, actor: Actor, sit: Sit, now: datetime, at: datetime | None = None) -> Sit:
    """Say that the hunter is at the stand; guests of the sit come along.

    ``at`` is the true time where it is told later. Raises :class:`WrongOrder`,
    :class:`NotTheHour` without ``at`` where check-in is not open now, ``ValidationError`` for an
    ``at`` that cannot be, and :class:`Refused` at a stand that was closed meanwhile.
    """
    # Places of the harvest plan are settled below; their lock comes before the sit's.
    land = lock_land(sit.property_id)
    sit = locked_own(actor, sit)
    _require_state(sit, SitState.BOOKED, "checked in")
    if at is None:
        _check_hour(sit, now)
        check_still_open(sit)
    else:
        _check_time(at, sit, now, not_before=_check_in_opens(sit), what="check-in opens")
        if at >= sit.ends_at:
            raise ValidationError({"at": f"The session ended at {shown_clock(sit.ends_at, sit)}."})
    check_supervised(sit)
    changes = {
        "state": SitState.CHECKED_IN,
        "checked_in_at": at or now,
        "check_in_entered_at": now,
    }
    for each in (sit, *guest_sits(sit, SitState.BOOKED)):
        _change(actor, each, changes, topic=SIT_CHECKED_IN, now=now)
    settle_all([land.id], now=now)
    return sit


@transaction.atomic
def check_out(*, actor: Actor, sit: Sit, now: datetime, at: datetime | None = None) -> Sit:
    """Say that the hunter is down and away, with guests who are still there.

    A manager may enter it by telephone. Raises :class:`WrongOrder`, and ``ValidationError`` for
    an ``at`` that cannot be, also where one of the guests came only afterwards.
    """
    sit = locked_own(actor, sit)
    _require_state(sit, SitState.CHECKED_IN, "checked out")
    leaving = (sit, *guest_sits(sit, SitState.CHECKED_IN))
    last = max(leaving, key=_came_at)
    if at is not None:
        what = f"{last.person.name} checked in"
        _check_time(at, sit, now, not_before=_came_at(last), what=what)
    # A clock that was set back keeps nobody from saying that they are down.
    true_at = at or max(now, _came_at(last))
    for each in leaving:
        changes = {
            "state": SitState.CHECKED_OUT,
            "checked_out_at": true_at,
            "check_out_entered_at": now,
            "observed_sector": sector_observed(each, until=true_at),
        }
        _change(actor, each, changes, topic=SIT_CHECKED_OUT, now=now)
    return sit


@transaction.atomic
def mark_missed(*, actor: Actor, sit: Sit, now: datetime) -> Sit:
    """A manager states that a booked sit did not take place; the clock alone never does."""
    actor.require(Action.SIT_MANAGE, sit.property_id)
    sit = locked(sit)
    _require_state(sit, SitState.BOOKED, "marked as missed")
    if now < sit.ends_at:
        raise WrongOrder(f"The session lasts until {shown_clock(sit.ends_at, sit)}.")
    SeatClaim.objects.filter(sit=sit).delete()
    _change(actor, sit, {"state": SitState.MISSED}, topic=SIT_MISSED, now=now)
    return sit


@transaction.atomic
def excuse_missed(*, actor: Actor, sit: Sit, reason: str, now: datetime) -> Sit:
    """A manager excuses a missed sit, so that it no longer keeps anybody from booking."""
    actor.require(Action.SIT_MANAGE, sit.property_id)
    sit = locked(sit)
    _require_state(sit, SitState.MISSED, "excused")
    if sit.excused_at is None:
        _change(actor, sit, {"excused_at": now}, now=now, reason=reason)
    return sit


def release(*, actor: Actor, sit: Sit, reason: str, now: datetime) -> None:
    """Cancel one locked sit and free its seats; inside the caller's transaction."""
    SeatClaim.objects.filter(sit=sit).delete()
    changes = {
        "state": SitState.CANCELLED,
        "cancelled_at": now,
        "cancel_reason": reason[:300],
    }
    _change(actor, sit, changes, topic=SIT_CANCELLED, now=now, reason=reason)


def locked_own(actor: Actor, sit: Sit) -> Sit:
    """The row, locked, for its person, host, outfitter's application, or a manager there."""
    # Whose it is is asked of the locked row: it may have been handed over a moment ago.
    sit = locked(sit)
    if not _is_own(actor, sit):
        actor.require(Action.SIT_MANAGE, sit.property_id)
    elif actor.kind is ActorKind.APPLICATION:
        actor.require(Action.SIT_BOOK, sit.property_id)
    return sit


def sector_observed(sit: Sit, *, until: datetime) -> int | None:
    """The sector in which the wind was observed on the property while the hunter sat."""
    return observed_sector(
        property_id=sit.property_id, starts_at=sit.checked_in_at or sit.starts_at, ends_at=until
    )


def _is_own(actor: Actor, sit: Sit) -> bool:
    if actor.is_system:
        return True
    if actor.person_id is None and actor.kind is not ActorKind.APPLICATION:
        raise PermissionDenied("sits belong to persons and to outfitters")
    return is_own_sit(actor, sit)


def locked(sit: Sit) -> Sit:
    """The row with all that is shown of it, locked; inside the caller's transaction.

    Locked alone and then read: PostgreSQL looks again at a row it waited for, but not at what
    was joined to it, so that a sit handed over meanwhile would seem to be gone.
    """
    Sit.objects.select_for_update().get(id=sit.id)
    return Sit.objects.select_related(
        "stand", "person", "host", "outfitter", "property__cooperative"
    ).get(id=sit.id)


def guest_sits(sit: Sit, *states: SitState) -> list[Sit]:
    """The sits of those whom this sit's person brought along, as far as they are in ``states``."""
    if sit.host_id is not None:
        return []
    rows = Sit.objects.filter(
        host=sit.person_id,
        stand=sit.stand_id,
        local_date=sit.local_date,
        span=sit.span,
        state__in=states,
    )
    return [locked(row) for row in rows.order_by("id")]


def _require_state(sit: Sit, state: SitState, what: str) -> None:
    if sit.state != state:
        raise WrongOrder(f"This sit {_DONE[SitState(sit.state)]}; it cannot be {what} now.")


def _check_in_opens(sit: Sit) -> datetime:
    return sit.starts_at - timedelta(hours=sit_settings_of(sit.property).check_in_opens_h)


def _check_hour(sit: Sit, now: datetime) -> None:
    opens = _check_in_opens(sit)
    if now < opens:
        raise NotTheHour(f"Check-in opens at {shown_clock(opens, sit)}.")
    if now >= sit.ends_at:
        ended = shown_clock(sit.ends_at, sit)
        raise NotTheHour(f"The session ended at {ended}; send the true time as `at`.")


def _came_at(sit: Sit) -> datetime:
    assert sit.checked_in_at is not None
    return sit.checked_in_at


def _check_time(at: datetime, sit: Sit, now: datetime, *, not_before: datetime, what: str) -> None:
    """``what`` happens at ``not_before``: said to whoever sends an earlier time."""
    if at > now:
        raise ValidationError({"at": "Lies in the future."})
    if at < not_before:
        raise ValidationError({"at": f"Lies before {shown_clock(not_before, sit)}, when {what}."})


def shown_clock(instant: datetime, sit: Sit) -> str:
    """An instant by the clock of the property."""
    return shown_clock_on(sit.property, instant)


def _change(
    actor: Actor,
    sit: Sit,
    changes: Mapping[str, Any],
    *,
    now: datetime,
    topic: str = "",
    reason: str = "",
) -> None:
    writing.change(
        sit,
        changes,
        actor=actor,
        action=Action.SIT_BOOK,
        now=now,
        property_id=sit.property_id,
        reason=reason,
    )
    if topic:
        publish_fact(topic=topic, sit=sit, now=now)


def publish_fact(*, topic: str, sit: Sit, now: datetime) -> None:
    """Write a fact about a sit with the change that is its cause."""
    ids: dict[str, UUID | str] = {
        "sit": sit.id,
        "property": sit.property_id,
        "stand": sit.stand_id,
        "person": sit.person_id,
    }
    outbox.publish(topic=topic, ids=ids, now=now)

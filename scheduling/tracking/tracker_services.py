"""Who is on foot: they join, say when they will be back, leave; nobody is forgotten out there."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from coop.api.problems import WrongOrder
from coop.audit import services as audit
from coop.audit import writing
from properties.people.models import Person
from properties.people.queries import holders_of, members_of
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
from scheduling.sits.overdue_services import check_back_by, follow_tracker
from scheduling.tracking import notices
from scheduling.tracking.models import Tracker, TrackerNotice, Tracking
from scheduling.tracking.queries import marks_of, unanswered
from scheduling.tracking.services import locked as locked_tracking
from scheduling.tracking.services import require_in_charge


@transaction.atomic
def join(
    *,
    actor: Actor,
    tracking: Tracking,
    person: Person | None,
    fields: Mapping[str, Any],
    now: datetime,
) -> Tracker:
    """Go out on foot: oneself or one's guest; the hunter and managers also say it of others.

    ``fields`` hold ``area`` and ``back_by``, and ``name`` and ``phone`` of somebody from
    outside. A hunter still checked in is asked after once, at the later time. Raises
    :class:`WrongOrder`, ``PermissionDenied`` and ``ValidationError``.
    """
    tracking = locked_tracking(tracking)
    actor.require(Action.TRACKING_JOIN, tracking.property_id)
    if tracking.ended_at is not None:
        raise WrongOrder("This tracking has ended.")
    if (person is None) != bool(fields.get("name")):
        raise ValidationError({"name": "Either a person, or name and number of an outsider."})
    if person is None or not actor.is_one_of(person.id, person.host_id):
        require_in_charge(actor, tracking)
    _check_belongs(tracking, person)
    _check_back_by(tracking, fields["back_by"], now)
    if person is not None and tracking.trackers.filter(person=person, left_at=None).exists():
        raise WrongOrder(f"{person.name} is out there already; say when they will be back.")
    tracker = Tracker(tracking=tracking, person=person, joined_at=now, **fields)
    writing.create(
        tracker,
        actor=actor,
        action=Action.TRACKING_JOIN,
        now=now,
        property_id=tracking.property_id,
    )
    _follow_sit(actor, tracker, now)
    return tracker


@transaction.atomic
def leave(*, actor: Actor, tracker: Tracker, now: datetime) -> Tracker:
    """Back, and off the ground. Raises :class:`WrongOrder` for who has said so already."""
    tracker = _locked_own(actor, tracker)
    _require_out(tracker)
    _stand_down(tracker, Answer.OVER, "is back.", now)
    _change(actor, tracker, {"left_at": now}, now)
    return tracker


@transaction.atomic
def be_back_later(
    *, actor: Actor, tracker: Tracker, back_by: datetime, area: str, now: datetime
) -> Tracker:
    """Out longer: a new ladder of questions begins at that time."""
    tracker = _locked_own(actor, tracker)
    _require_out(tracker)
    _check_back_by(tracker.tracking, back_by, now)
    _stand_down(tracker, Answer.LATER, "has said to be back later.", now)
    changes = asked_again(ladder_number=tracker.ladder_number, back_by=back_by)
    _change(actor, tracker, {"area": area or tracker.area, **changes}, now)
    _follow_sit(actor, tracker, now)
    return tracker


@transaction.atomic
def acknowledge(*, actor: Actor, tracker: Tracker, now: datetime) -> Tracker:
    """Say that somebody knows: the present ladder ends. Twice changes nothing."""
    tracker = _locked_own(actor, tracker)
    _require_out(tracker)
    if tracker.acknowledged_at is not None:
        return tracker
    if not marks_of(tracker):
        raise WrongOrder("Nobody has asked about them yet.")
    how = f"{actor.name} has acknowledged the notice."
    _stand_down(tracker, Answer.ACKNOWLEDGED, how, now)
    _change(actor, tracker, answered(by=actor.name, now=now), now)
    return tracker


def watch_trackers(*, property_id: UUID, actor: Actor, now: datetime) -> Watched:
    """Raise for each overdue tracker of a property the rung that is due, at most one.

    Each is its own transaction; run twice, or after a crash, it raises nothing twice.
    """
    ids = list(
        unanswered(now=now)
        .filter(tracking__property=property_id)
        .order_by("back_by", "id")
        .values_list("id", flat=True)
    )
    return Watched.of(_raise_rung(tracker_id, actor, now) for tracker_id in ids)


@transaction.atomic
def _raise_rung(tracker_id: UUID, actor: Actor, now: datetime) -> Rung | None:
    tracker = _locked(tracker_id)
    due = rung_due(
        Ladder(
            expected_by=tracker.back_by,
            pace=Pace.of(sit_settings_of(tracker.tracking.property)),
            raised_at=marks_of(tracker),
            is_answered=tracker.acknowledged_at is not None or tracker.left_at is not None,
        ),
        now=now,
    )
    if due is None:
        return None
    notice = TrackerNotice.objects.create(
        tracker=tracker, ladder_number=tracker.ladder_number, rung=due, raised_at=now
    )
    audit.record(
        actor=actor,
        action=Action.TRACKING_JOIN,
        target=notice,
        now=now,
        property_id=tracker.tracking.property_id,
        reason="nobody has said that they are back",
    )
    notices.ask(tracker, due, now=now)
    return due


def _follow_sit(actor: Actor, tracker: Tracker, now: datetime) -> None:
    """A hunter who is still checked in is not asked before the time told for tracking."""
    if tracker.person_id is None:
        return
    seated = Sit.objects.filter(
        person=tracker.person_id,
        property=tracker.tracking.property_id,
        state=SitState.CHECKED_IN,
        host=None,
    ).select_related("property")
    for sit in seated:
        is_later = sit.back_by is None or sit.back_by < tracker.back_by
        if is_later and sit.ends_at < tracker.back_by:
            follow_tracker(actor=actor, sit=sit, back_by=tracker.back_by, now=now)


def _check_belongs(tracking: Tracking, person: Person | None) -> None:
    if person is None:
        return
    land_id = tracking.property_id
    known = members_of(property_id=land_id) | holders_of(role=Role.COORDINATOR, property_id=land_id)
    ids = [each for each in (person.id, person.host_id) if each is not None]
    if person.id != tracking.hunter_id and not known.filter(id__in=ids).exists():
        raise ValidationError({"person": "Does not belong to this property."})


def _check_back_by(tracking: Tracking, back_by: datetime, now: datetime) -> None:
    settings = sit_settings_of(tracking.property)
    at_most = f"{settings.tracking_longest_h:g} hours at the most"
    check_back_by(back_by, settings=settings, at_most=at_most, now=now)


def _locked_own(actor: Actor, tracker: Tracker) -> Tracker:
    tracker = _locked(tracker.id)
    actor.require(Action.TRACKING_JOIN, tracker.tracking.property_id)
    person = tracker.person
    if person is None or not actor.is_one_of(person.id, person.host_id):
        require_in_charge(actor, tracker.tracking)
    return tracker


def _locked(tracker_id: UUID) -> Tracker:
    Tracker.objects.select_for_update().get(id=tracker_id)
    return Tracker.objects.select_related(
        "person__host", "tracking__hunter", "tracking__property__cooperative"
    ).get(id=tracker_id)


def _require_out(tracker: Tracker) -> None:
    if tracker.left_at is not None:
        raise WrongOrder("They are back already.")


def _stand_down(tracker: Tracker, answer: Answer, how: str, now: datetime) -> None:
    if managers_are_alarmed(marks_of(tracker)):
        notices.tell_answered(tracker, answer, how=how, now=now)


def _change(actor: Actor, tracker: Tracker, changes: Mapping[str, Any], now: datetime) -> None:
    writing.change(
        tracker,
        changes,
        actor=actor,
        action=Action.TRACKING_JOIN,
        now=now,
        property_id=tracker.tracking.property_id,
    )

"""Who is on foot: they join, say when they will be back, leave; nobody is forgotten out there."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from coop.audit import services as audit
from coop.audit import writing
from properties.people.models import Person
from properties.people.queries import holders_of, members_of
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit, SitState
from scheduling.sits.overdue_ladder import Ladder, rung_due
from scheduling.sits.overdue_models import Rung
from scheduling.sits.overdue_services import say_back_by
from scheduling.sits.problems import WrongOrder
from scheduling.tracking import notices
from scheduling.tracking.models import Tracker, TrackerNotice, Tracking
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
    if person is None or actor.person_id not in (person.id, person.host_id):
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
    """Back, and off the ground. Twice changes nothing."""
    tracker = _locked_own(actor, tracker)
    if tracker.left_at is None:
        _stand_down(tracker, "is back.", now)
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
    _stand_down(tracker, "has said to be back later.", now)
    changes = {
        "back_by": back_by,
        "area": area or tracker.area,
        "ladder_number": tracker.ladder_number + 1,
        "acknowledged_at": None,
        "acknowledged_by": "",
    }
    _change(actor, tracker, changes, now)
    _follow_sit(actor, tracker, now)
    return tracker


@transaction.atomic
def acknowledge(*, actor: Actor, tracker: Tracker, now: datetime) -> Tracker:
    """Say that somebody knows: the present ladder ends. Twice changes nothing."""
    tracker = _locked_own(actor, tracker)
    _require_out(tracker)
    if tracker.acknowledged_at is not None:
        return tracker
    if not _raised(tracker):
        raise WrongOrder("Nobody has asked about them yet.")
    _stand_down(tracker, f"{actor.name} has acknowledged the notice.", now)
    changes = {"acknowledged_at": now, "acknowledged_by": actor.name[:200]}
    _change(actor, tracker, changes, now)
    return tracker


@dataclass(frozen=True, kw_only=True)
class Watched:
    """The reconciliation: trackers past their time that nobody answered for, rungs raised now."""

    looked_at: int
    raised: Mapping[Rung, int]

    @property
    def still_waiting(self) -> int:
        return self.looked_at - sum(self.raised.values())


def unanswered(*, now: datetime) -> QuerySet[Tracker]:
    """Trackers past their time whose ladder nobody answered, also of trackings that ended.

    Whoever is checked in at a stand of the property is asked after by their sit's own ladder,
    at the same time; one question is enough.
    """
    last_rung = TrackerNotice.objects.filter(
        tracker=OuterRef("id"), ladder_number=OuterRef("ladder_number"), rung=Rung.EMERGENCY_CONTACT
    )
    still_seated = Sit.objects.filter(
        person=OuterRef("person"),
        property=OuterRef("tracking__property"),
        state=SitState.CHECKED_IN,
        back_by__gte=OuterRef("back_by"),
    )
    return Tracker.objects.filter(
        ~Exists(last_rung),
        ~Exists(still_seated),
        left_at=None,
        back_by__lt=now,
        acknowledged_at=None,
    )


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
    raised = dict.fromkeys(Rung, 0)
    for tracker_id in ids:
        rung = _raise_rung(tracker_id, actor, now)
        if rung is not None:
            raised[rung] += 1
    return Watched(looked_at=len(ids), raised=raised)


@transaction.atomic
def _raise_rung(tracker_id: UUID, actor: Actor, now: datetime) -> Rung | None:
    tracker = _locked(tracker_id)
    settings = sit_settings_of(tracker.tracking.property)
    due = rung_due(
        Ladder(
            expected_by=tracker.back_by,
            margin=timedelta(minutes=settings.overdue_margin_min),
            step=timedelta(minutes=settings.overdue_step_min),
            raised_at=_raised(tracker),
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
    notices.ask(tracker, Rung(due), now=now)
    return Rung(due)


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
            say_back_by(actor=actor, sit=sit, back_by=tracker.back_by, now=now)


def _check_belongs(tracking: Tracking, person: Person | None) -> None:
    if person is None:
        return
    land_id = tracking.property_id
    known = members_of(property_id=land_id) | holders_of(role=Role.COORDINATOR, property_id=land_id)
    ids = [each for each in (person.id, person.host_id) if each is not None]
    if person.id != tracking.hunter_id and not known.filter(id__in=ids).exists():
        raise ValidationError({"person": "Does not belong to this property."})


def _check_back_by(tracking: Tracking, back_by: datetime, now: datetime) -> None:
    longest = timedelta(hours=sit_settings_of(tracking.property).tracking_longest_h)
    if back_by <= now:
        raise ValidationError({"back_by": "Has passed already."})
    if back_by > now + longest:
        hours = longest / timedelta(hours=1)
        raise ValidationError({"back_by": f"Lies too far ahead; {hours:g} hours at the most."})


def _locked_own(actor: Actor, tracker: Tracker) -> Tracker:
    tracker = _locked(tracker.id)
    actor.require(Action.TRACKING_JOIN, tracker.tracking.property_id)
    person = tracker.person
    is_own = person is not None and actor.person_id in (person.id, person.host_id)
    if actor.person_id is None or not is_own:
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


def _raised(tracker: Tracker) -> dict[int, datetime]:
    rows = TrackerNotice.objects.filter(tracker=tracker, ladder_number=tracker.ladder_number)
    return dict(rows.values_list("rung", "raised_at"))


def _stand_down(tracker: Tracker, how: str, now: datetime) -> None:
    if Rung.MANAGERS in _raised(tracker):
        notices.tell_answered(tracker, how=how, now=now)


def _change(actor: Actor, tracker: Tracker, changes: Mapping[str, Any], now: datetime) -> None:
    writing.change(
        tracker,
        changes,
        actor=actor,
        action=Action.TRACKING_JOIN,
        now=now,
        property_id=tracker.tracking.property_id,
    )

"""What this floor's rooms hold of people: calendars, words to each other, clients' references."""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Q

from properties.people.erasure import (
    ERASED,
    Subject,
    on_erasure,
    register_name_column,
    register_obstacles,
    register_rows_about,
)
from properties.people.models import Person
from scheduling.errands.models import Errand, ErrandState
from scheduling.rotation.models import RotationPlan
from scheduling.sits.calendar_models import CalendarFeed
from scheduling.sits.models import STANDING_STATES, Client, Sit
from scheduling.sits.transfer_models import SitTransfer, TransferState
from scheduling.sits.waiting_models import OPEN_STATES, WaitingEntry
from scheduling.tracking.models import Tracker, Tracking


def register() -> None:
    """Called once, when Django has loaded every model."""
    register_name_column(RotationPlan, "published_by", cooperative="cooperative")
    register_name_column(Sit, "acknowledged_by", cooperative="property__cooperative")
    register_name_column(Tracker, "acknowledged_by", cooperative="tracking__property__cooperative")
    register_rows_about(Client, "person")
    register_rows_about(SitTransfer, "giver")
    register_rows_about(SitTransfer, "receiver")
    on_erasure(_words_go)
    on_erasure(_from_plans)
    register_obstacles(_obstacles)


def _words_go(subject: Subject, _now: datetime) -> None:
    CalendarFeed.objects.filter(person=subject.person_id).delete()
    SitTransfer.objects.filter(giver=subject.person_id).update(message="")
    SitTransfer.objects.filter(receiver=subject.person_id).update(answer="")
    # An outfitter's reference may be a name or a number of its own books.
    Client.objects.filter(person=subject.person_id).update(reference=f"erased {subject.person_id}")


def _from_plans(subject: Subject, _now: datetime) -> None:
    """What stood in the way of a wish may name whoever asked for it, and whom they would bring."""
    plans = RotationPlan.objects.filter(cooperative=subject.cooperative_id)
    for plan in plans.only("explanations").iterator():
        told = subject.known_as.out_of(plan.explanations, instead=ERASED)
        if told != plan.explanations:
            RotationPlan.objects.filter(id=plan.id).update(explanations=told)


def _obstacles(person: Person, _now: datetime) -> Iterator[str]:
    standing = Sit.objects.filter(Q(person=person) | Q(host=person))
    standing = standing.filter(state__in=STANDING_STATES)
    if count := standing.count():
        yield f"Sits of theirs that are booked or not yet checked out: {count}."
    on_foot = Q(hunter=person, ended_at=None) | Q(trackers__person=person, trackers__left_at=None)
    if Tracking.objects.filter(on_foot).exists():
        yield "They are tracking a deer, or theirs is being tracked."
    if WaitingEntry.objects.filter(person=person, state__in=OPEN_STATES).exists():
        yield "They are on a waiting list."
    offered = Q(giver=person) | Q(receiver=person)
    if SitTransfer.objects.filter(offered, state=TransferState.OFFERED).exists():
        yield "A sit is offered by them or to them."
    if Errand.objects.filter(assignee=person, state=ErrandState.OPEN).exists():
        yield "An errand is theirs to do: give it to somebody else."

"""Who is told that a deer is tracked near them, that it is over, that a tracker is overdue."""

from collections.abc import Iterable
from datetime import datetime

from properties.land.models import Closure
from properties.people.models import Person
from scheduling.sits import notices
from scheduling.sits.models import Sit
from scheduling.sits.overdue_ladder import Answer, Rung
from scheduling.sits.overdue_notices import NO_RESCUE, call_contact, reached_at, shown_at
from scheduling.tracking.models import Outcome, Tracker, Tracking

_OUTCOMES = {
    Outcome.RECOVERED: "the deer was recovered.",
    Outcome.NOT_FOUND: "the deer was not found.",
    Outcome.SEEN_AGAIN: "the deer was seen again and is not thought to be mortally hit.",
}


def tell_nearby(tracking: Tracking, near: Iterable[tuple[Sit, float]], *, now: datetime) -> None:
    """Tell each hunter near the place that people are or will be on foot there."""
    for sit, away_m in near:
        notices.tell_seat_holder(
            sit,
            once_key=f"tracking-near:{tracking.id}:{sit.id}",
            subject=f"People on foot near {sit.stand.name}: a deer is being tracked",
            text=(
                f"A deer was hit on {tracking.property.name} at "
                f"{shown_at(tracking.hit_at, tracking.property)} and is being tracked. It was last "
                f"seen about {away_m:.0f} m from {sit.stand.name}. People may come on foot from "
                "any side, also after dark.\n\nBe sure of your target and of what and who lies "
                "beyond it. You will be told when it is over."
            ),
            now=now,
            urgent=True,
        )


def tell_over(tracking: Tracking, sits: Iterable[Sit], *, now: datetime) -> None:
    """Tell those who were told that it is over; trackers may still be on their way back."""
    still_out = tracking.trackers.filter(left_at=None).count()
    for sit in sits:
        notices.tell_seat_holder(
            sit,
            once_key=f"tracking-over:{tracking.id}:{sit.id}",
            subject=f"Tracking near {sit.stand.name} is over",
            text=(
                f"The tracking on {tracking.property.name} has ended: "
                f"{_OUTCOMES[Outcome(tracking.outcome)]}\n\n"
                + (
                    f"{still_out} of those on foot have not said yet that they are back."
                    if still_out
                    else "Everybody who was on foot has said that they are back."
                )
            ),
            now=now,
            urgent=True,
        )


def closed_key(tracker: Tracker, closure: Closure) -> str:
    """How the keys of the letters begin that tell a tracker of a closure."""
    return f"closed-while-tracking:{closure.id}:{tracker.id}"


def tell_closed(
    tracker: Tracker, *, closure: Closure, closed: str, is_now: bool, now: datetime
) -> None:
    """Tell somebody on foot that the ground was closed meanwhile; once for each closure.

    ``closed`` says so. Without ``is_now`` it closes later, before they said to be back.
    """
    land = tracker.tracking.property
    closes = "has been" if is_now else "will be"
    leave = "Leave the closed ground now" if is_now else "Be off that ground before then"
    for person in _reached_through(tracker):
        notices.tell_person(
            person,
            once_key=closed_key(tracker, closure),
            subject=f"{land.name} {closes} closed while {_who(tracker, person)} on foot there",
            text=(
                f"{closed}\n\n{name_of(tracker)} is tracking a deer on foot on {land.name} "
                f"({tracker.area}) by the record. {leave}, call your manager, "
                "and say that you have left when you are off it. Ask the landowner first before "
                "anybody goes on looking for the deer."
            ),
            now=now,
            urgent=True,
        )


def ask(tracker: Tracker, rung: Rung, *, now: datetime) -> None:
    """Write the messages of one rung; the same rung of the same ladder is written once."""
    if rung is Rung.HUNTER:
        _ask_tracker(tracker, now)
        return
    if rung is Rung.MANAGERS:
        subject = f"Overdue: {name_of(tracker)}, tracking a deer"
        call = f"Call {_reached_at(tracker)}, or acknowledge that you are on it. Without an "
        call += "answer the call to the emergency contact comes next."
    else:
        subject = f"Call now: {name_of(tracker)} is still overdue, tracking a deer"
        call = _contact(tracker)
    _to_managers(
        tracker,
        once_key=_once_key(tracker, rung),
        subject=subject,
        text=f"{_expected(tracker)} and has not answered.\n\n{call}\n\n{NO_RESCUE}",
        now=now,
    )


def tell_answered(tracker: Tracker, answer: Answer, *, how: str, now: datetime) -> None:
    """Tell managers who were alarmed what came of it; each answer once for each ladder."""
    _to_managers(
        tracker,
        once_key=f"tracker-answered:{tracker.id}:{tracker.ladder_number}:{answer}",
        subject=f"Answered: {name_of(tracker)}, tracking a deer",
        text=f"{name_of(tracker)}, tracking a deer on {tracker.tracking.property.name}: {how}",
        now=now,
    )


def tell_limit_reached(tracking: Tracking, *, counted: int, limit: int, now: datetime) -> None:
    """Tell the hunter and the managers how many count toward the hunter's own limit."""
    text = (
        f"{counted} deer of {tracking.hunter.name} count on {tracking.property.name} this "
        f"season's year, with those hit and not found; the house's limit is {limit}. It is the "
        "house's own rule. What the law counts is for your state to say."
    )
    subject = f"{tracking.hunter.name}: {counted} deer counted, {limit} is the house's limit"
    once_key = f"deer-limit:{tracking.id}"
    notices.tell_person(tracking.hunter, once_key=once_key, subject=subject, text=text, now=now)
    notices.tell_managers(
        property_id=tracking.property_id,
        cooperative_id=tracking.property.cooperative_id,
        once_key=once_key,
        subject=subject,
        text=text,
        now=now,
    )


def name_of(tracker: Tracker) -> str:
    """The tracker's name, from the person or as told of somebody from outside."""
    return tracker.person.name if tracker.person is not None else tracker.name


def _ask_tracker(tracker: Tracker, now: datetime) -> None:
    for person in _reached_through(tracker):
        notices.tell_person(
            person,
            once_key=_once_key(tracker, Rung.HUNTER),
            subject="Are you back from tracking?"
            if person == tracker.person
            else f"Is {name_of(tracker)} back from tracking?",
            text=(
                f"{_expected(tracker)}.\n\nIf they are out and well, say so: left, back later, "
                "or acknowledged. Without an answer the managers are told next. If help is "
                f"needed, call for it.\n\n{NO_RESCUE}"
            ),
            now=now,
            urgent=True,
        )


def _reached_through(tracker: Tracker) -> list[Person]:
    """The tracker; of a guest the host too; for somebody from outside the hunter."""
    asked = [tracker.person, tracker.person.host] if tracker.person is not None else []
    return [one for one in asked if one is not None] or [tracker.tracking.hunter]


def _who(tracker: Tracker, reader: Person) -> str:
    return "you are" if reader == tracker.person else f"{name_of(tracker)} is"


def _contact(tracker: Tracker) -> str:
    person = tracker.person
    if person is None:
        return f"No emergency contact is on record. Call {_reached_at(tracker)}."
    return call_contact(person)


def _to_managers(
    tracker: Tracker, *, once_key: str, subject: str, text: str, now: datetime
) -> None:
    land = tracker.tracking.property
    notices.tell_managers(
        property_id=land.id,
        cooperative_id=land.cooperative_id,
        once_key=once_key,
        subject=subject,
        text=text,
        now=now,
        urgent=True,
    )


def _expected(tracker: Tracker) -> str:
    land = tracker.tracking.property
    return (
        f"{name_of(tracker)} is tracking a deer on foot on {land.name} "
        f"({tracker.area}), since {shown_at(tracker.joined_at, land)}, was expected "
        f"back by {shown_at(tracker.back_by, land)}"
    )


def _reached_at(tracker: Tracker) -> str:
    phone = tracker.person.phone if tracker.person is not None else tracker.phone
    return reached_at(name_of(tracker), phone)


def _once_key(tracker: Tracker, rung: Rung) -> str:
    return f"tracker-overdue:{tracker.id}:{tracker.ladder_number}:{rung.value}"

"""What is written when somebody has not come back, and to whom; no promise of rescue."""

from datetime import datetime
from zoneinfo import ZoneInfo

from properties.land.models import Property
from properties.people.models import Person
from scheduling.sits import notices
from scheduling.sits.models import Sit, SitState
from scheduling.sits.overdue_ladder import Answer, Rung

NO_RESCUE = (
    "This software searches for nobody. Follow your cooperative's search plan, and call the "
    "emergency services when in doubt."
)


def call_contact(person: Person) -> str:
    """The sentence that sends managers to the emergency contact of somebody who is overdue."""
    if not (person.emergency_contact_name or person.emergency_contact_phone):
        return "No emergency contact is on record."
    name = person.emergency_contact_name or "the emergency contact"
    return f"Call the emergency contact now: {reached_at(name, person.emergency_contact_phone)}."


def reached_at(name: str, phone: str) -> str:
    """Somebody's name with their telephone number, or that none is known."""
    return f"{name} at {phone}" if phone else f"{name} (no telephone number is on record)"


def shown_at(instant: datetime, land: Property) -> str:
    """An instant by the clock of the property, without its year: it is of these days."""
    return f"{instant.astimezone(ZoneInfo(land.time_zone)):%d %b %H:%M %Z}"


def ask(sit: Sit, rung: Rung, *, expected_by: datetime, now: datetime) -> None:
    """Write the messages of one rung; the same rung of the same ladder is written once."""
    if rung is Rung.HUNTER:
        _ask_hunter(sit, expected_by, now)
    elif rung is Rung.MANAGERS:
        _ask_managers(sit, expected_by, now)
    else:
        _ask_to_call(sit, expected_by, now)


def tell_answered(sit: Sit, answer: Answer, *, how: str, now: datetime) -> None:
    """Tell managers who were alarmed what came of it; each answer once for each ladder."""
    _to_managers(
        sit,
        once_key=f"overdue-answered:{sit.id}:{sit.ladder_number}:{answer}",
        subject=f"Answered: {sit.person.name}, {sit.stand.name}",
        text=f"{sit.person.name}, {_where(sit)}: {how}",
        now=now,
    )


def _ask_hunter(sit: Sit, expected_by: datetime, now: datetime) -> None:
    missing = (
        "not checked out" if sit.state == SitState.CHECKED_IN else "neither checked in nor out"
    )
    notices.tell_seat_holder(
        sit,
        once_key=_once_key(sit, Rung.HUNTER),
        subject=f"Are you back from {sit.stand.name}?",
        text=(
            f"{sit.person.name} was expected back from {_where(sit)} by "
            f"{shown_at(expected_by, sit.property)} and has {missing}.\n\n"
            "If you are down and away, check out now, with the true time. If you are tracking a "
            "deer, say until when. If all is well, acknowledge this notice. Without an answer "
            f"your managers are told next. If you need help, call for it.\n\n{NO_RESCUE}"
        ),
        now=now,
        urgent=True,
    )


def _ask_managers(sit: Sit, expected_by: datetime, now: datetime) -> None:
    _to_managers(
        sit,
        once_key=_once_key(sit, Rung.MANAGERS),
        subject=f"Overdue: {sit.person.name}, {sit.stand.name}",
        text=(
            f"{sit.person.name} was expected back from {_where(sit)} by "
            f"{shown_at(expected_by, sit.property)} and has not answered.\n{_checked_in(sit)}\n\n"
            f"Call {reached_at(sit.person.name, sit.person.phone)}. You may check them out by "
            "telephone, or acknowledge that you are on it. Without an answer the call to the "
            f"emergency contact comes next.\n\n{NO_RESCUE}"
        ),
        now=now,
    )


def _ask_to_call(sit: Sit, expected_by: datetime, now: datetime) -> None:
    _to_managers(
        sit,
        once_key=_once_key(sit, Rung.EMERGENCY_CONTACT),
        subject=f"Call now: {sit.person.name} is still overdue, {sit.stand.name}",
        text=(
            f"Nobody has answered for {sit.person.name}, expected back from {_where(sit)} by "
            f"{shown_at(expected_by, sit.property)}.\n{_checked_in(sit)}\n\n"
            f"{call_contact(sit.person)}\n\n{NO_RESCUE}"
        ),
        now=now,
    )


def _to_managers(sit: Sit, *, once_key: str, subject: str, text: str, now: datetime) -> None:
    notices.tell_managers(
        property_id=sit.property_id,
        cooperative_id=sit.property.cooperative_id,
        once_key=once_key,
        subject=subject,
        text=text,
        now=now,
        also=[sit.outfitter.contact_email] if sit.outfitter is not None else (),
        urgent=True,
    )


def _once_key(sit: Sit, rung: Rung) -> str:
    return f"overdue:{sit.id}:{sit.ladder_number}:{rung.value}"


def _where(sit: Sit) -> str:
    return f"{sit.stand.name} on {sit.property.name} ({notices.session_words(sit)})"


def _checked_in(sit: Sit) -> str:
    if sit.checked_in_at is None:
        return "They have not checked in: they may be out there and have forgotten to."
    return f"They checked in at {shown_at(sit.checked_in_at, sit.property)}."

"""Messages of the waiting list."""

from datetime import datetime
from zoneinfo import ZoneInfo

from scheduling.sits.models import Sit
from scheduling.sits.notices import session_words, tell_person
from scheduling.sits.waiting_models import WaitingEntry


def tell_of_seat(entry: WaitingEntry, sit: Sit, *, now: datetime) -> None:
    """Tell somebody that the list booked a freed seat for them."""
    tell_person(
        entry.person,
        once_key=f"waiting-booked:{entry.id}",
        subject=f"From the waiting list: {_short(sit)} is yours",
        text=(
            f"A seat became free, and you were next on the waiting list. {sit.stand.name} on "
            f"{sit.property.name} in {session_words(sit)} is booked for you.\n\n"
            "If you cannot go, cancel it, so that the next in line hears of it."
        ),
        now=now,
    )


def tell_of_offer(entry: WaitingEntry, *, now: datetime) -> None:
    """Tell somebody that a seat is held for them, and until when."""
    assert entry.offered_stand is not None
    assert entry.answer_by is not None
    where = f"{entry.offered_stand.name} on {entry.property.name}"
    tell_person(
        entry.person,
        once_key=f"waiting-offered:{entry.id}:{entry.version}",
        subject=f"Confirm by {_clock(entry)}: {_short(entry)}",
        text=(
            f"A seat became free: {where} in {session_words(entry)}. It is held for you until "
            f"{_clock(entry)}; confirm it by then, or it goes to the next in line. It is not "
            "booked until you confirm, and the house rules are asked again when you do."
        ),
        now=now,
        # It is over before a quiet night is.
        urgent=True,
    )


def tell_of_missed_offer(entry: WaitingEntry, *, now: datetime) -> None:
    """Tell somebody that the time to confirm has passed."""
    tell_person(
        entry.person,
        once_key=f"waiting-passed:{entry.id}",
        subject=f"The offer has passed: {_short(entry)}",
        text=(
            f"You did not confirm by {_clock(entry)}, so the seat went to the next in line. You "
            "are not on this waiting list any more; ask again if you still want a seat."
        ),
        now=now,
    )


def tell_of_taken_back(entry: WaitingEntry, *, reason: str, now: datetime) -> None:
    """Tell somebody that the stand, or the ground, of the seat held for them was closed."""
    tell_person(
        entry.person,
        once_key=f"waiting-taken-back:{entry.id}:{entry.version}",
        subject=f"No longer held: {_short(entry)}",
        text=(
            f"The seat held for you in {session_words(entry)} on {entry.property.name} is held "
            f"no more.\n\nReason: {reason}\n\nYou stay on the waiting list."
        ),
        now=now,
        urgent=True,
    )


def _clock(entry: WaitingEntry) -> str:
    assert entry.answer_by is not None
    local = entry.answer_by.astimezone(ZoneInfo(entry.property.time_zone))
    return f"{local:%a %d %b %H:%M %Z}"


def _short(of: Sit | WaitingEntry) -> str:
    stand = of.stand if isinstance(of, Sit) else of.offered_stand
    return f"{stand.name if stand else 'a stand'}, {of.local_date:%d %b %Y}"

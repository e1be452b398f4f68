"""What a published plan tells each whose sits changed, members and guests alike."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from coop.outbox import services as outbox
from properties.people.models import Person
from scheduling.rotation.models import RotationPlan
from scheduling.sits.models import STANDING_STATES, Sit, SitSpan

_BY_BEGIN = (SitSpan.MORNING, SitSpan.ALL_DAY, SitSpan.EVENING)

_Line = tuple[date, int, str]
"""A line's day, the rank of its span in the day, and its words."""


@dataclass
class _Letter:
    """A line for each sit of one person that changed."""

    person: Person
    sit_ids: set[UUID] = field(default_factory=set)
    lines: list[_Line] = field(default_factory=list)


@dataclass
class News:
    """The letters of one publishing: one for each person, none to whom nothing changes."""

    _letters: dict[UUID, _Letter] = field(default_factory=dict)

    def add(self, sit: Sit, what: str) -> None:
        """``what`` became of a sit, told to whoever sits; nothing is said of no change."""
        letter = self._letters.setdefault(sit.person_id, _Letter(person=sit.person))
        letter.sit_ids.add(sit.id)
        letter.lines.append(_line(sit, what))

    def tell(self, plan: RotationPlan, *, now: datetime) -> None:
        """Write the letters; each says as well which other sits of the plan's days stay."""
        letters = [letter for letter in self._letters.values() if letter.person.email]
        staying = _staying(letters, plan, now)
        for letter in letters:
            person_id = letter.person.id
            stays = staying.get(person_id, ())
            outbox.write_message(
                once_key=f"rotation:{plan.id}:{person_id}",
                recipient=letter.person.email,
                subject=(
                    f"Changes to your sits from {plan.first_on:%d %b} to {plan.last_on:%d %b}"
                ),
                text=(
                    "A rotation plan was published, from the wishes, the latest forecast and what "
                    f"the stands have borne.\n\nThese change:\n\n{_listed(letter.lines)}\n\n"
                    + (f"These stay as they are:\n\n{_listed(stays)}\n\n" if stays else "")
                    + "A plan says what the property's settings allow. It says nothing about what "
                    "is lawful or safe: check your state's regulations, wear your harness, and "
                    "tell somebody where you sit."
                ),
                cooperative_id=plan.cooperative_id,
                now=now,
            )


def _staying(
    letters: Iterable[_Letter], plan: RotationPlan, now: datetime
) -> Mapping[UUID, Sequence[_Line]]:
    """For each person told, their sits to come in the plan's days of which nothing was said.

    On every property of the cooperative, whoever booked them.
    """
    said = {letter.person.id: letter.sit_ids for letter in letters}
    sits = Sit.objects.filter(
        person__in=said,
        property__cooperative=plan.cooperative_id,
        local_date__range=(plan.first_on, plan.last_on),
        state__in=STANDING_STATES,
        ends_at__gt=now,
    )
    found: dict[UUID, list[_Line]] = defaultdict(list)
    for sit in sits.select_related("stand", "property"):
        if sit.id not in said[sit.person_id]:
            found[sit.person_id].append(_line(sit, f"{sit.stand.name} on {sit.property.name}."))
    return found


def _line(sit: Sit, what: str) -> _Line:
    span = SitSpan(sit.span)
    words = f"{sit.local_date:%a %d %b}, {span.label.lower()}: {what}"
    return (sit.local_date, _BY_BEGIN.index(span), words)


def _listed(lines: Iterable[_Line]) -> str:
    """In order of time; within one session what was withdrawn stands first, as it was told."""
    in_order = sorted(lines, key=lambda line: line[:2])
    return "\n".join(f"- {words}" for _day, _rank, words in in_order)

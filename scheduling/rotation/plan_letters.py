"""What a published plan tells each whose sits changed, members and guests alike."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from coop.outbox import services as outbox
from properties.people.models import Person
from scheduling.rotation.models import RotationPlan
from scheduling.sits.models import Sit


@dataclass
class _Letter:
    """A line for each sit of one person that changed."""

    person: Person
    lines: list[str] = field(default_factory=list)


@dataclass
class News:
    """The letters of one publishing: one for each person, none to whom nothing changes."""

    _letters: dict[UUID, _Letter] = field(default_factory=dict)

    def add(self, sit: Sit, what: str) -> None:
        """``what`` became of a sit, told to whoever sits; nothing is said of no change."""
        letter = self._letters.setdefault(sit.person_id, _Letter(person=sit.person))
        letter.lines.append(f"{sit.local_date:%a %d %b}, {sit.span}: {what}")

    def tell(self, plan: RotationPlan, *, now: datetime) -> None:
        for person_id, letter in self._letters.items():
            if not letter.person.email:
                continue
            lines = "\n".join(f"- {line}" for line in sorted(letter.lines))
            outbox.write_message(
                once_key=f"rotation:{plan.id}:{person_id}",
                recipient=letter.person.email,
                subject=f"Your sits from {plan.first_on:%d %b} to {plan.last_on:%d %b}",
                text=(
                    "A rotation plan was published, from the wishes, the latest forecast and what "
                    f"the stands have borne.\n\n{lines}\n\n"
                    "A plan says what the property's settings allow. It says nothing about what "
                    "is lawful or safe: check your state's regulations, wear your harness, and "
                    "tell somebody where you sit."
                ),
                cooperative_id=plan.cooperative_id,
                now=now,
            )

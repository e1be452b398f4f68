"""One person is in one place at a time, also across time zones.

The claims' constraint compares local dates; sessions of two properties in different zones
may overlap all the same, so their instants are compared too.
"""

from collections.abc import Collection, Sequence
from uuid import UUID

from django.db.models import Q

from scheduling.rules.facts import SessionFacts
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import Objection
from scheduling.sits.models import STANDING_STATES, Sit

OVERLAP = Objection(
    code="sits_overlap",
    title="Elsewhere at that time",
    template="{person} already has a sit on another property that overlaps this one in time.",
)


def overlap_refusals(
    person_ids: Collection[UUID], sessions: Sequence[SessionFacts]
) -> tuple[Refusal, ...]:
    """An objection for each person who sits on another property at the same instants.

    Sits of one property meet by its own settings, so only other properties are looked at.
    """
    if not sessions:
        return ()
    elsewhere = Sit.objects.filter(
        Q(starts_at__lt=sessions[-1].ends_at, ends_at__gt=sessions[0].starts_at),
        person__in=person_ids,
        state__in=STANDING_STATES,
    ).exclude(property=UUID(sessions[0].property_id))
    names = elsewhere.order_by("person__name").values_list("person__name", flat=True).distinct()
    return tuple(OVERLAP.refuse(person=name) for name in names)

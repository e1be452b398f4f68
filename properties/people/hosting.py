"""Whom somebody may bring along: their own guests, and young hunters whom they supervise."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from properties.people.models import Person
from properties.people.youth_models import YouthRecord


@dataclass(frozen=True, kw_only=True)
class Companion:
    """Somebody who may come along; ``youth_until``: the last day as a young hunter, if any."""

    person_id: UUID
    name: str
    host_id: UUID | None
    is_retired: bool
    supervisor_ids: frozenset[UUID | None]
    youth_until: date | None

    def comes_with(self, person_id: UUID, *, on: date) -> bool:
        """Whether the person may name them along for a local date."""
        is_supervised = self.youth_until is not None and on <= self.youth_until
        is_own = self.host_id == person_id or (is_supervised and person_id in self.supervisor_ids)
        return is_own and not self.is_retired


def companions(person_ids: Collection[UUID]) -> Mapping[UUID, Companion]:
    """The persons as those who may come along; two queries, whatever their number."""
    if not person_ids:
        return {}
    youth = {row.person_id: row for row in YouthRecord.objects.filter(person__in=person_ids)}
    return {
        person.id: _companion(person, youth.get(person.id))
        for person in Person.objects.filter(id__in=person_ids)
    }


def _companion(person: Person, youth: YouthRecord | None) -> Companion:
    supervisors = {youth.supervisor_id, youth.other_supervisor_id} if youth else ()
    return Companion(
        person_id=person.id,
        name=person.name,
        host_id=person.host_id,
        is_retired=person.retired_at is not None,
        supervisor_ids=frozenset(supervisors),
        youth_until=youth.youth_until if youth else None,
    )

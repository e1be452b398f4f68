"""Whether members are clear: papers, dues, work days, by the very rules that judge bookings."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.people.models import Person
from scheduling.rules import dues, papers, work_days
from scheduling.rules.facts import MemberFacts, PropertyFacts
from scheduling.sits.ground_queries import property_facts
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.people_queries import member_facts


@dataclass(frozen=True, kw_only=True)
class Standing:
    """One member on one property today.

    ``papers_wrong`` are sentences. ``dues_clear`` says no more than that. Hours of work are
    None where the property asks for none.
    """

    person_id: UUID
    name: str
    papers_wrong: tuple[str, ...]
    dues_clear: bool
    work_owed_h: float | None
    work_done_h: float | None
    work_due_on: date | None
    work_clear: bool


def standings(*, land: Property, persons: Sequence[Person], now: datetime) -> list[Standing]:
    """How each of the persons stands today, by name. Whether a rule asks for it or not.

    ``land`` comes with its cooperative.
    """
    today = local_date_on(land, now)
    (place,) = property_facts(
        [land],
        first_on=today,
        last_on=today,
        closures=(),
        settings={land.id: sit_settings_of(land)},
    )
    known = member_facts(
        lands=[land],
        person_ids=[person.id for person in persons],
        first_on=today,
        last_on=today,
        now=now,
    )
    return sorted((_standing(one, place, today) for one in known), key=lambda one: one.name)


def _standing(member: MemberFacts, place: PropertyFacts, today: date) -> Standing:
    wrong = papers.objections_to(member, place.required_papers, today, place.name)
    asked = place.work_asked
    work = None if asked is None else work_days.work_standing(member, asked, today)
    return Standing(
        person_id=UUID(member.member_id),
        name=member.name,
        papers_wrong=tuple(refusal.sentence for refusal in wrong),
        dues_clear=dues.is_clear(member, today),
        work_owed_h=work.owed_h if work else None,
        work_done_h=work.done_h if work else None,
        work_due_on=work.due_on if work else None,
        work_clear=work is None or work.is_clear,
    )

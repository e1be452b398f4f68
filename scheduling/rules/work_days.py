"""Where a property asks for it, the year's work is done by its date before anybody sits."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from properties.land.years import day_in_year, first_day_of, year_of
from scheduling.rules.facts import MemberFacts, SitProposal, WorkAsked
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

WORK_OWED = Objection(
    code="work_days_owed",
    title="Work days owed",
    template=(
        "{person} has done {done_days:g} of {owed_days:g} work days owed by "
        "{due_on:%d %b %Y} to {property}."
    ),
    overrulable=True,
)


@dataclass(frozen=True, kw_only=True)
class WorkStanding:
    """Hours owed and done in the year of a day; ``is_clear`` while they are not due yet, too."""

    owed_h: float
    done_h: float
    due_on: date
    is_clear: bool


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    if place.work_asked is None:
        return
    member = facts.member(proposal.member_id)
    standing = work_standing(member, place.work_asked, proposal.local_date)
    if not standing.is_clear:
        yield WORK_OWED.refuse(
            person=member.name,
            property=place.name,
            done_days=round(standing.done_h / place.work_asked.day_h, 2),
            owed_days=round(standing.owed_h / place.work_asked.day_h, 2),
            due_on=standing.due_on,
        )


def work_standing(member: MemberFacts, asked: WorkAsked, day: date) -> WorkStanding:
    """What a member owes and did in the year of ``day``.

    Nobody owes before they join: whoever is no member, or joined after the year's due date,
    owes nothing that year.
    """
    year = year_of(day, first_month=asked.year_first_month)
    begins = first_day_of(year, first_month=asked.year_first_month)
    ends = first_day_of(year + 1, first_month=asked.year_first_month)
    due_on = day_in_year(asked.due, year, first_month=asked.year_first_month)
    owes = member.joined_on is not None and member.joined_on <= due_on
    owed_h = asked.hours if owes else 0.0
    done_h = sum(hours for on, hours in member.work if begins <= on < ends)
    return WorkStanding(
        owed_h=owed_h,
        done_h=done_h,
        due_on=due_on,
        is_clear=done_h >= owed_h or day <= due_on,
    )


RULE = Rule(
    title="Work days are done",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(WORK_OWED,),
    settings=(),
    judge=judge,
)

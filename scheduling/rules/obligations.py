"""Who missed sits or owes reports settles that first. Judges bookings only."""

from collections.abc import Iterator
from datetime import date, timedelta

from scheduling.rules.facts import SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

MISSED_SIT = Objection(
    code="missed_sits",
    title="Missed sits not settled",
    template=(
        "{person} has {count} missed sits not yet settled ({sits}); this property allows {allowed}."
    ),
    overrulable=True,
)
MISSING_REPORT = Objection(
    code="missing_reports",
    title="Sit reports owed",
    template=(
        "{person} owes {count} sit reports ({sits}), due {due_hours} hours after a sit; "
        "this property allows {allowed}."
    ),
    overrulable=True,
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    member = facts.member(proposal.member_id)
    missed = [(sit.local_date, sit.stand_name) for sit in member.missed_sits]
    if len(missed) > limits.house.missed_sits_allowed:
        yield MISSED_SIT.refuse(
            person=member.name,
            count=len(missed),
            sits=_shown(missed),
            allowed=limits.house.missed_sits_allowed,
        )
    due_after = timedelta(hours=limits.house.report_due_hours)
    owed = [
        (report.local_date, report.stand_name)
        for report in member.missing_reports
        if facts.now - report.ended_at > due_after
    ]
    if len(owed) > limits.house.missing_reports_allowed:
        yield MISSING_REPORT.refuse(
            person=member.name,
            count=len(owed),
            sits=_shown(owed),
            due_hours=limits.house.report_due_hours,
            allowed=limits.house.missing_reports_allowed,
        )


def _shown(sits: list[tuple[date, str]]) -> str:
    return ", ".join(f"{stand_name} on {day:%d %b %Y}" for day, stand_name in sorted(sits))


RULE = Rule(
    title="Nothing is owed",
    applies_to=AppliesTo.BOOKING,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(MISSED_SIT, MISSING_REPORT),
    settings=(
        "house_rules/missed_sits_allowed",
        "house_rules/missing_reports_allowed",
        "house_rules/report_due_hours",
    ),
    judge=judge,
)

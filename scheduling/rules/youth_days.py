"""Days, and weapons of some days, that are kept for young hunters and whoever supervises them."""

from collections.abc import Iterable, Iterator

from scheduling.rules.facts import SeasonFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

YOUTH_ONLY_DAY = Objection(
    code="youth_only_day",
    title="A day for young hunters alone",
    template=(
        "On {local_date:%a %d %b %Y} the settings of {property} let young hunters alone hunt "
        "({seasons}), and nobody of this party is known to be one; check your state's regulations."
    ),
)
YOUTH_ONLY_WEAPON = Objection(
    code="youth_only_weapon",
    title="A weapon for young hunters alone that day",
    template=(
        "On {local_date:%a %d %b %Y} the settings of {property} let young hunters alone carry "
        "{weapon} ({seasons}), and nobody of this party is known to be one; check your state's "
        "regulations."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    day, weapon = proposal.local_date, proposal.weapon
    seasons = [one for one in place.seasons if one.first_date <= day <= one.last_date]
    youth = [one for one in seasons if one.youth_only]
    if not youth or any(facts.member(person).is_youth_on(day) for person in proposal.people):
        return
    told = {"local_date": day, "property": place.name, "seasons": _names(youth)}
    if len(youth) == len(seasons):
        yield YOUTH_ONLY_DAY.refuse(**told)
        return
    others = {weapon for one in seasons if not one.youth_only for weapon in one.weapons}
    theirs = {weapon for one in youth for weapon in one.weapons}
    if weapon in theirs - others:
        yield YOUTH_ONLY_WEAPON.refuse(**told, weapon=str(weapon))


def _names(seasons: Iterable[SeasonFacts]) -> str:
    return ", ".join(sorted(season.name for season in seasons))


RULE = Rule(
    title="Days for young hunters",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.MEMBER,
    one_for_property=True,
    objections=(YOUTH_ONLY_DAY, YOUTH_ONLY_WEAPON),
    settings=(),
    judge=judge,
)

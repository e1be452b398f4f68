"""A session lies in a season that the property's settings open, with a weapon they allow."""

from collections.abc import Iterator
from datetime import date

from scheduling.rules.facts import PropertyFacts, SeasonFacts, SitProposal
from scheduling.rules.limits import Limits
from scheduling.rules.refusal import Refusal
from scheduling.rules.rule import AppliesTo, LooksAt, Objection, Rule
from scheduling.rules.snapshot import BookingFacts

OUT_OF_SEASON = Objection(
    code="out_of_season",
    title="Outside the seasons set here",
    template=(
        "{local_date:%a %d %b %Y} is outside the seasons allowed by the settings of {property} "
        "({seasons}); check your state's regulations."
    ),
)
WEAPON_NOT_PERMITTED = Objection(
    code="weapon_not_permitted",
    title="Weapon not allowed in this season",
    template=(
        "On {local_date:%a %d %b %Y} the settings of {property} allow {weapons} and not "
        "{weapon}; check your state's regulations."
    ),
)


def judge(proposal: SitProposal, facts: BookingFacts, limits: Limits) -> Iterator[Refusal]:
    place = facts.property_of(facts.stand(proposal.stand_id))
    day = proposal.local_date
    if not any(season.first_date <= day <= season.last_date for season in place.seasons):
        yield OUT_OF_SEASON.refuse(
            local_date=day, property=place.name, seasons=_shown(place.seasons)
        )
        return
    permitted = weapons_permitted(place, day)
    if proposal.weapon is not None and proposal.weapon not in permitted:
        yield WEAPON_NOT_PERMITTED.refuse(
            local_date=day,
            property=place.name,
            weapons=", ".join(sorted(permitted)) or "no weapon",
            weapon=str(proposal.weapon),
        )


def weapons_permitted(place: PropertyFacts, day: date) -> frozenset[str]:
    """Weapons allowed by the property's settings on ``day``, over all its seasons."""
    open_seasons = (s for s in place.seasons if s.first_date <= day <= s.last_date)
    return frozenset().union(*(season.weapons for season in open_seasons))


def _shown(seasons: tuple[SeasonFacts, ...]) -> str:
    ordered = sorted(seasons, key=lambda season: (season.first_date, season.name))
    return (
        ", ".join(
            f"{season.name} {season.first_date:%d %b %Y} to {season.last_date:%d %b %Y}"
            for season in ordered
        )
        or "none are set"
    )


RULE = Rule(
    title="In season, with an allowed weapon",
    applies_to=AppliesTo.BOTH,
    looks_at=LooksAt.STAND,
    one_for_property=True,
    objections=(OUT_OF_SEASON, WEAPON_NOT_PERMITTED),
    settings=(),
    judge=judge,
)

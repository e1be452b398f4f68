"""Which stands a sit endangers, by the weapon that it brings."""

from collections.abc import Mapping
from datetime import date

from properties.people.weapons import Weapon
from properties.sessions.kinds import SessionKey
from scheduling.rules.facts import PropertyFacts, SitProposal
from scheduling.rules.season import weapons_permitted
from scheduling.rules.snapshot import BookingFacts


def weapons_reckoned(place: PropertyFacts, day: date, weapon: str | None) -> frozenset[str]:
    """The weapon declared for a sit, else every one that the property's settings allow.

    Without a season nobody sits; the rifle is then the careful answer.
    """
    if weapon:
        return frozenset({weapon})
    return weapons_permitted(place, day) or frozenset({Weapon.RIFLE.value})


def endangering(
    proposal: SitProposal, facts: BookingFacts, session: SessionKey
) -> Mapping[str, str]:
    """Ids and names of stands in use then, of which one is in the other's danger arc."""
    place = facts.property_of(facts.stand(proposal.stand_id))
    brought = weapons_reckoned(place, session.local_date, proposal.weapon)
    found = {}
    for other_id in facts.in_danger_with(proposal.stand_id):
        if facts.use(other_id, session) is None:
            continue
        there = _weapons_there(other_id, facts, session)
        if (
            facts.danger_weapons(proposal.stand_id, other_id) & brought
            or facts.danger_weapons(other_id, proposal.stand_id) & there
        ):
            found[other_id] = facts.stand(other_id).name
    return found


def _weapons_there(stand_id: str, facts: BookingFacts, session: SessionKey) -> frozenset[str]:
    """What those bring who sit there; whoever is not known by a sit may bring any."""
    place = facts.property_of(facts.stand(stand_id))
    use = facts.use(stand_id, session)
    known = [
        other
        for other in facts.neighbours_in(place.property_id, session)
        if other.stand_id == stand_id
    ]
    declared = [other.weapon for other in known]
    if use is not None and len(known) < use.hunters:
        declared.append(None)
    return frozenset().union(
        *(weapons_reckoned(place, session.local_date, weapon) for weapon in declared)
    )

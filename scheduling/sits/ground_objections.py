"""What the rules of the ground object to in sits that are booked, by the map as it is now.

These are the rules about people and lines around a stand, which no manager sets aside: setbacks,
the danger arc, and two stands that endanger each other.
"""

from collections.abc import Iterable, Mapping, Sequence
from uuid import UUID

from properties.land.models import Property
from properties.land.units import UnitSystem
from properties.stands.models import Stand
from scheduling.rules import planning, setbacks
from scheduling.rules.facts import SitProposal
from scheduling.rules.refusal import Refusal
from scheduling.rules.snapshot import BookingFacts
from scheduling.sits.cautions import Caution
from scheduling.sits.ground_queries import (
    danger_arcs_of,
    exclusions_of,
    property_facts,
    stand_facts,
    weapons_that_count,
)
from scheduling.sits.limits_queries import limits_of_stands, sit_settings_of
from scheduling.sits.models import STANDING_STATES, Sit
from scheduling.sits.problems import as_read
from scheduling.sits.uses_queries import neighbours_of_sits, sessions_of_sit, uses_of_sits

RULES_ASKED = (setbacks.RULE, planning.EXCLUSION)


def objections_to(land: Property, sits: Sequence[Sit]) -> Mapping[UUID, tuple[Refusal, ...]]:
    """What objects to each of a property's ``sits``, by its id; in a constant number of queries.

    ``sits`` come with stand and person, the property with its cooperative. None of these rules
    looks at the clock.
    """
    if not sits:
        return {}
    first_on = min(sit.local_date for sit in sits)
    last_on = max(sit.local_date for sit in sits)
    lands, settings = {land.id: land}, {land.id: sit_settings_of(land)}
    stands = list(Stand.objects.filter(property=land).order_by("id"))
    limits = limits_of_stands(lands, stands)
    # Whoever has left a stand is in nobody's arc any more.
    there = list(
        Sit.objects.filter(
            property=land, local_date__range=(first_on, last_on), state__in=STANDING_STATES
        ).select_related("stand", "person", "report")
    )
    places = property_facts(
        [land], first_on=first_on, last_on=last_on, closures=[], settings=settings
    )
    weapons = weapons_that_count(places, {sit.weapon for sit in there if sit.weapon})
    facts = BookingFacts(
        now=min(sit.starts_at for sit in sits),
        properties=places,
        stands=stand_facts(lands, stands, asked={sit.stand_id for sit in sits}, closures=[]),
        members=(),
        uses=uses_of_sits(there, fits={}, limits=limits, settings=settings),
        neighbours=neighbours_of_sits(there),
        exclusions=exclusions_of(stands),
        danger_arcs=danger_arcs_of(stands, weapons=weapons, limits=limits),
    )
    return {
        sit.id: tuple(
            refusal
            for rule in RULES_ASKED
            if rule.judge is not None
            for refusal in rule.judge(_proposal(sit), facts, limits[str(sit.stand_id)])
        )
        for sit in sits
    }


def cautions_of_ground(sit: Sit, *, units: UnitSystem, names_places: bool) -> tuple[Caution, ...]:
    """What objects to one sit that is still to come or under way, as its hunter is told it."""
    if sit.state not in STANDING_STATES:
        return ()
    found = objections_to(sit.property, [sit])[sit.id]
    return tuple(
        Caution(code=told.code, sentence=f"{told.sentence} Talk to your manager before you sit.")
        for told in as_told(found, units=units, names_places=names_places)
    )


def as_told(
    found: Iterable[Refusal], *, units: UnitSystem, names_places: bool
) -> tuple[Refusal, ...]:
    """The objections in a reader's units, each sentence once."""
    read = (as_read(each, units=units, names_places=names_places) for each in found)
    return tuple({each.sentence: each for each in read}.values())


def _proposal(sit: Sit) -> SitProposal:
    return SitProposal(
        member_id=str(sit.person_id),
        stand_id=str(sit.stand_id),
        sessions=sessions_of_sit(sit),
        weapon=sit.weapon or None,
    )

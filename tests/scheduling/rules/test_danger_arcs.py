"""Two stands in one session: the weapon that each sit brings says who endangers whom."""

from dataclasses import replace

import pytest

from scheduling.rules.facts import DangerArc, NeighbourUse, SeasonFacts
from tests.scheduling.rules.cast import DAY, FARM, evening, judged, proposal, use

MIXED = replace(
    FARM,
    seasons=(
        SeasonFacts(name="Any", first_date=DAY, last_date=DAY, weapons=frozenset({"bow", "rifle"})),
    ),
)
RIDGE_REACHES = DangerArc(
    stand_id="ridge", other_stand_id="creek", weapons=frozenset({"rifle", "shotgun"})
)
CREEK_REACHES = replace(RIDGE_REACHES, stand_id="creek", other_stand_id="ridge")


def there(weapon, **changes):
    sit = NeighbourUse(
        stand_id="creek",
        stand_name="Creek",
        property_id="farm",
        session=evening(),
        first_name="Ben",
        weapon=weapon,
    )
    return {"neighbours": (sit,), "uses": (use("creek", evening(), **changes),)}


def codes(arc, *, brought, weapon, **changes):
    found = judged(
        proposal(weapon=brought),
        **{"properties": (MIXED,), "danger_arcs": (arc,), **there(weapon), **changes},
    )
    return set(found)


@pytest.mark.parametrize(
    ("arc", "brought", "weapon", "refused"),
    [
        (RIDGE_REACHES, "rifle", "bow", True),
        (RIDGE_REACHES, "bow", "rifle", False),
        (RIDGE_REACHES, None, "bow", True),  # whoever names none may bring the rifle
        (CREEK_REACHES, "bow", "rifle", True),
        (CREEK_REACHES, "rifle", "bow", False),
        (CREEK_REACHES, "bow", None, True),
    ],
)
def test_the_weapon_declared_counts_else_the_farthest_that_the_season_allows(
    arc, brought, weapon, refused
):
    assert codes(arc, brought=brought, weapon=weapon) == (
        {"neighbour_in_use"} if refused else set()
    )


def test_a_season_without_a_weapon_that_reaches_keeps_nobody_apart():
    bows = replace(MIXED, seasons=(replace(MIXED.seasons[0], weapons=frozenset({"bow"})),))

    assert codes(RIDGE_REACHES, brought=None, weapon=None, properties=(bows,)) == set()


def test_a_held_place_beside_a_declared_bow_may_still_bring_a_rifle():
    more = there("bow", hunters=2)

    assert codes(CREEK_REACHES, brought="bow", weapon="bow", **more) == {"neighbour_in_use"}


def test_an_unused_stand_endangers_nobody():
    assert codes(RIDGE_REACHES, brought="rifle", weapon="rifle", neighbours=(), uses=()) == set()


def test_a_danger_arc_of_an_unknown_stand_is_refused():
    with pytest.raises(ValueError, match="not listed"):
        codes(replace(RIDGE_REACHES, other_stand_id="gone"), brought=None, weapon=None)

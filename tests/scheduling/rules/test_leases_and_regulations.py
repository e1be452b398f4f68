"""What leases and dated regulations refuse: allowed, refused, and the day at the boundary."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from scheduling.rules import catalogue
from scheduling.rules.facts import LeaseFacts, RoleFacts, SeasonFacts
from scheduling.rules.judge import CandidateFilter
from tests.scheduling.rules.cast import (
    ADA,
    DAY,
    FARM,
    GUEST,
    evening,
    judged,
    limits,
    proposal,
    snapshot,
)

LEASE = LeaseFacts(
    first_date=date(2026, 8, 1),
    last_date=DAY,
    people=frozenset({"members", "guests"}),
    weapons=frozenset({"bow"}),
)
YOUTH = SeasonFacts(
    name="youth rifle",
    first_date=DAY,
    last_date=DAY,
    weapons=frozenset({"rifle"}),
    youth_only=True,
)
YOUNG_GUEST = replace(GUEST, youth_until=DAY)


def farm(*leases, **changes):
    return (replace(FARM, leases=leases, **changes),)


def test_a_property_without_a_lease_is_left_as_it_is():
    assert judged(properties=farm()) == {}


def test_the_last_day_of_a_term_is_hunted_and_the_next_is_not():
    assert judged(properties=farm(LEASE)) == {}
    over = judged(properties=farm(replace(LEASE, last_date=DAY - timedelta(days=1))))

    assert set(over) == {"outside_lease"}
    assert "01 Aug 2026 to 13 Nov 2026" in over["outside_lease"].sentence


def test_a_day_before_the_term_is_not_hunted():
    assert set(judged(properties=farm(replace(LEASE, first_date=DAY + timedelta(days=1))))) == {
        "outside_lease"
    }
    assert judged(properties=farm(replace(LEASE, first_date=DAY))) == {}


def test_a_following_lease_goes_on_where_the_first_ended():
    first = replace(LEASE, last_date=DAY - timedelta(days=1))
    second = replace(LEASE, first_date=DAY, last_date=DAY + timedelta(days=300))

    assert judged(properties=farm(first, second)) == {}


def test_a_weapon_that_the_lease_does_not_name_is_refused():
    assert judged(proposal(weapon="bow"), properties=farm(LEASE)) == {}
    refused = judged(proposal(weapon="crossbow"), properties=farm(LEASE))

    assert set(refused) == {"weapon_not_in_lease"}
    assert refused["weapon_not_in_lease"].facts["weapons"] == "bow"


def test_a_lease_that_says_nothing_of_weapons_leaves_them_to_the_seasons():
    silent = replace(LEASE, weapons=None)

    assert judged(proposal(weapon="crossbow"), properties=farm(silent)) == {}
    assert set(judged(proposal(weapon="rifle"), properties=farm(silent))) == {
        "weapon_not_permitted"
    }


def test_guests_are_refused_where_the_lease_lets_members_hunt_alone():
    alone = replace(LEASE, people=frozenset({"members"}))
    with_guest = proposal(guest_ids=("gus",))

    assert judged(with_guest, properties=farm(LEASE)) == {}
    assert judged(properties=farm(alone)) == {}
    refused = judged(with_guest, properties=farm(alone))
    assert set(refused) == {"people_not_in_lease"}
    assert "Gus Rook" in refused["people_not_in_lease"].sentence


def test_a_client_is_refused_where_the_lease_names_no_clients():
    client = replace(ADA, roles=(RoleFacts(property_id="farm", role="client"),))
    with_clients = replace(LEASE, people=frozenset({"clients"}))

    refused = judged(members=(client, GUEST), properties=farm(LEASE))

    assert set(refused) == {"people_not_in_lease"}
    assert judged(members=(client, GUEST), properties=farm(with_clients)) == {}
    # Somebody with a role of their own is no client, whoever else shares them the land.
    both = replace(ADA, roles=(*client.roles, *ADA.roles))
    assert judged(members=(both, GUEST), properties=farm(LEASE)) == {}


def test_a_closed_weekday_is_not_hunted():
    closed = frozenset({DAY})

    assert set(judged(properties=farm(closed_weekday_dates=closed))) == {"closed_weekday"}
    other = frozenset({DAY + timedelta(days=7)})
    assert judged(properties=farm(closed_weekday_dates=other)) == {}


def test_a_day_for_young_hunters_is_closed_to_a_party_without_one():
    only = farm(seasons=(YOUTH,))
    party = proposal(guest_ids=("gus",))

    assert set(judged(party, properties=only)) == {"youth_only_day"}
    assert judged(party, properties=only, members=(ADA, YOUNG_GUEST)) == {}


def test_on_a_day_open_to_all_only_the_weapon_of_young_hunters_is_kept_for_them():
    mixed = farm(seasons=(*FARM.seasons, YOUTH))

    assert judged(proposal(weapon="bow"), properties=mixed) == {}
    assert set(judged(proposal(weapon="rifle"), properties=mixed)) == {"youth_only_weapon"}
    party = proposal(weapon="rifle", guest_ids=("gus",))
    assert judged(party, properties=mixed, members=(ADA, YOUNG_GUEST)) == {}


def test_a_weapon_that_every_season_of_the_day_permits_is_nobodys_own():
    everybody = replace(YOUTH, name="rifle", youth_only=False)

    assert judged(proposal(weapon="rifle"), properties=farm(seasons=(everybody, YOUTH))) == {}


def test_the_plan_keeps_apart_what_it_found_of_two_weapons():
    facts = snapshot(properties=farm(seasons=(*FARM.seasons, YOUTH)))
    kept = CandidateFilter(facts=facts, limits_of=lambda _stand: limits())

    def codes(weapon):
        found = kept.people_refusals(proposal(sessions=(evening(),), weapon=weapon))
        return {refusal.code for refusal in found}

    assert (codes("bow"), codes("rifle")) == (set(), {"youth_only_weapon"})


@pytest.mark.parametrize(
    "code",
    [
        "outside_lease",
        "weapon_not_in_lease",
        "people_not_in_lease",
        "closed_weekday",
        "youth_only_day",
        "youth_only_weapon",
    ],
)
def test_no_manager_sets_them_aside(code):
    assert not catalogue.objection(code).overrulable

"""Dues, work days, young hunters and guests' caps, judged for a booking and a plan's seat."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from scheduling.rules.facts import PaperFacts, WorkAsked
from scheduling.rules.judge import candidate_refusals
from scheduling.rules.work_days import work_standing
from tests.scheduling.rules.cast import (
    ADA,
    DAY,
    FARM,
    GUEST,
    judged,
    limits,
    proposal,
    snapshot,
)

WORK = WorkAsked(hours=12.0, day_h=6.0, due="10-01", year_first_month=3)
JOINED = date(2024, 1, 1)


def members(**changes):
    return {"members": (replace(ADA, **changes), GUEST)}


def with_farm(**changes):
    return {"properties": (replace(FARM, **changes),)}


def in_a_plan(asked, **world):
    return {
        refusal.code
        for refusal in candidate_refusals(asked, facts=snapshot(**world), limits=limits())
    }


@pytest.mark.parametrize(
    ("due_on", "needed", "is_refused"),
    [
        (DAY - timedelta(days=1), True, True),
        (DAY, True, False),
        (DAY - timedelta(days=400), True, True),
        (DAY - timedelta(days=1), False, False),
    ],
)
def test_dues_past_their_date_refuse_where_the_property_asks(due_on, needed, is_refused):
    world = members(open_dues=(due_on,)) | with_farm(dues_needed=needed)
    assert ("dues_open" in judged(**world)) is is_refused
    assert ("dues_open" in in_a_plan(proposal(), **world)) is is_refused


def test_the_sentence_on_dues_tells_no_amount_no_date_and_no_year():
    world = members(open_dues=(date(2026, 8, 1),)) | with_farm(dues_needed=True)
    refusal = judged(**world)["dues_open"]
    assert refusal.overrulable
    assert set(refusal.facts) == {"person", "property"}
    assert not any(character.isdigit() for character in refusal.sentence)


@pytest.mark.parametrize(
    ("hours", "day", "is_clear"),
    [
        (12.0, date(2026, 10, 2), True),
        (11.75, date(2026, 10, 2), False),
        (0.0, date(2026, 10, 1), True),
        (0.0, date(2027, 2, 28), False),
        (0.0, date(2027, 3, 1), True),
    ],
)
def test_work_is_owed_from_the_day_after_its_date_to_the_end_of_its_year(hours, day, is_clear):
    member = replace(ADA, joined_on=JOINED, work=((date(2026, 3, 1), hours),) if hours else ())
    assert work_standing(member, WORK, day).is_clear is is_clear


def test_work_of_the_year_before_does_not_count_and_none_is_owed_before_joining():
    old = replace(ADA, joined_on=JOINED, work=((date(2026, 2, 28), 40.0),))
    assert work_standing(old, WORK, DAY).done_h == 0
    late = replace(ADA, joined_on=date(2026, 10, 2))
    assert work_standing(late, WORK, DAY).owed_h == 0
    client = replace(ADA, joined_on=None)
    assert work_standing(client, WORK, DAY).is_clear


def test_work_owed_refuses_booking_and_plan_with_days_and_date():
    world = members(joined_on=JOINED, work=((date(2026, 8, 1), 3.0),)) | with_farm(work_asked=WORK)
    refusal = judged(**world)["work_days_owed"]
    assert "0.5 of 2 work days" in refusal.sentence
    assert "01 Oct 2026" in refusal.sentence
    assert in_a_plan(proposal(), **world) == {"work_days_owed"}


def test_a_young_member_alone_is_refused_by_booking_and_plan_and_nobody_overrules_it():
    world = members(youth_until=DAY)
    refusal = judged(**world)["youth_alone"]
    assert not refusal.overrulable
    assert in_a_plan(proposal(), **world) == {"youth_alone"}
    assert judged(**members(youth_until=DAY - timedelta(days=1))) == {}


def test_an_adult_with_papers_brings_a_young_hunter_along():
    party = proposal(guest_ids=(GUEST.member_id,))
    young = (ADA, replace(GUEST, youth_until=DAY))
    ground = with_farm(supervising_papers=frozenset({"licence"}))
    assert judged(party, members=young, **ground) == {}
    asked = with_farm(supervising_papers=frozenset({"supervisor_course"}))
    refusal = judged(party, members=young, **asked)["supervisor_paper_missing"]
    assert ADA.name in refusal.sentence
    expired = PaperFacts(kind="supervisor_course", valid_until=DAY - timedelta(days=1))
    lapsed = (replace(ADA, papers=(*ADA.papers, expired)), young[1])
    assert set(judged(party, members=lapsed, **asked)) == {"supervisor_paper_missing"}


def test_one_adult_supervises_as_many_as_the_property_says():
    other = replace(GUEST, member_id="gil", name="Gil Young")
    party = proposal(guest_ids=(GUEST.member_id, other.member_id))
    world = {
        "members": (ADA, replace(GUEST, youth_until=DAY), replace(other, youth_until=DAY)),
    }
    codes = set(judged(party, **world, **with_farm()))
    assert "youths_for_adults" in codes
    assert "youths_for_adults" not in judged(party, **world, **with_farm(youths_an_adult=2))


@pytest.mark.parametrize(
    ("sits", "a_host", "a_property", "codes"),
    [
        ((), 1, 1, set()),
        (((DAY, "ada"),), 1, 0, {"guests_of_host"}),
        (((DAY, "bob"),), 1, 0, set()),
        (((DAY, "bob"),), 0, 1, {"guests_on_property"}),
        (((date(2026, 6, 30), "ada"),), 1, 1, set()),
        (((date(2026, 7, 1), "ada"),), 1, 1, {"guests_of_host", "guests_on_property"}),
    ],
)
def test_guests_sits_of_the_seasons_year_stay_within_both_caps(sits, a_host, a_property, codes):
    caps = {"guest_sits_a_host": a_host, "guest_sits_a_property": a_property}
    party = proposal(guest_ids=(GUEST.member_id,))
    found = judged(party, house=caps, **with_farm(guest_sits=sits))
    assert set(found) == codes
    assert all(refusal.overrulable for refusal in found.values())


def test_without_a_guest_no_cap_is_asked_and_a_young_hunter_is_no_guest_by_it():
    caps = {"guest_sits_a_host": 1}
    full = with_farm(guest_sits=((DAY, "ada"),))
    assert judged(house=caps, **full) == {}
    young = (ADA, replace(GUEST, youth_until=DAY))
    party = proposal(guest_ids=(GUEST.member_id,))
    assert judged(party, members=young, house=caps, **full) == {}


def test_the_farm_asks_for_nothing_of_this_until_it_says_so():
    assert (FARM.dues_needed, FARM.work_asked, FARM.guest_sits) == (False, None, ())
    owing = members(open_dues=(date(2020, 1, 1),), joined_on=JOINED)
    assert judged(**owing) == {}

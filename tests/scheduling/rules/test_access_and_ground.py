"""Role, papers, open ground, inspection, season: each allowed, refused, and at its edge."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.rules.facts import Closure, PaperFacts, RoleFacts
from tests.scheduling.rules.cast import (
    ADA,
    CREEK,
    DAY,
    FARM,
    GUEST,
    RIDGE,
    evening,
    judged,
    morning,
    proposal,
    session_at,
)


def with_stand(**changes):
    return {"stands": (replace(RIDGE, **changes), CREEK)}


def with_farm(**changes):
    return {"properties": (replace(FARM, **changes),)}


def with_ada(**changes):
    return {"members": (replace(ADA, **changes), GUEST)}


def with_guest(**changes):
    return {"members": (ADA, replace(GUEST, **changes))}


def test_nothing_objects_to_a_member_in_good_standing_at_an_open_stand():
    assert judged() == {}


def test_a_retired_stand_is_refused_by_name():
    refusal = judged(**with_stand(is_retired=True))["stand_retired"]
    assert "Ridge on Oak Farm" in refusal.sentence
    assert not refusal.overrulable


START, END = session_at(evening()).starts_at, session_at(evening()).ends_at


@pytest.mark.parametrize(
    ("starts_at", "ends_at", "is_closed"),
    [
        (START, None, True),
        (END - timedelta(seconds=1), None, True),
        (END, None, False),
        (START - timedelta(days=9), START, False),
        (START - timedelta(days=9), START + timedelta(seconds=1), True),
    ],
)
def test_a_closure_counts_from_the_first_to_the_last_second_of_the_session(
    starts_at, ends_at, is_closed
):
    closure = Closure(starts_at=starts_at, ends_at=ends_at, reason="strap frayed")
    assert ("stand_closed" in judged(**with_stand(closures=(closure,)))) is is_closed
    assert ("property_closed" in judged(**with_farm(closures=(closure,)))) is is_closed


def test_a_closure_gives_its_reason_and_its_end():
    until = datetime(2026, 12, 1, 18, tzinfo=UTC)
    closure = Closure(starts_at=START, ends_at=until, reason="logging")
    refusal = judged(**with_farm(closures=(closure,)))["property_closed"]
    assert "Oak Farm" in refusal.sentence
    assert "until 01 Dec 2026 18:00 UTC: logging" in refusal.sentence
    assert refusal.facts["closed_until"] == "2026-12-01T18:00:00+00:00"


def test_a_stand_closed_already_is_closed_until_it_is_opened_and_no_start_is_made_up():
    closure = Closure(reason="Strap frayed.")
    refusal = judged(**with_stand(closures=(closure,)))["stand_closed"]
    assert "is closed until further notice: Strap frayed." in refusal.sentence
    assert ".." not in refusal.sentence
    assert refusal.facts["closed_from"] is None


@pytest.mark.parametrize(
    ("entered", "end"), [("Bull out!", ": Bull out!"), ("", ": no reason is recorded.")]
)
def test_the_sentence_ends_once_however_the_reason_was_entered(entered, end):
    refusal = judged(**with_stand(closures=(Closure(reason=entered),)))["stand_closed"]
    assert refusal.sentence.endswith(end)


def test_an_all_day_sit_meets_a_closure_of_its_morning_only():
    there = session_at(morning())
    closure = Closure(starts_at=there.starts_at, ends_at=there.ends_at, reason="cattle")
    assert judged(**with_stand(closures=(closure,))) == {}
    all_day = proposal(sessions=(morning(), evening()))
    assert set(judged(all_day, **with_stand(closures=(closure,)))) == {"stand_closed"}


def test_where_the_sun_gives_no_session_that_is_the_answer():
    refusal = judged(sessions=(session_at(morning()),))["no_session"]
    assert "no evening session on Sat 14 Nov 2026" in refusal.sentence


@pytest.mark.parametrize(("age_days", "is_refused"), [(0, False), (365, False), (366, True)])
def test_an_inspection_holds_for_its_interval_and_no_longer(age_days, is_refused):
    found = judged(**with_stand(inspected_on=DAY - timedelta(days=age_days)))
    assert set(found) == ({"inspection_expired"} if is_refused else set())
    if is_refused:
        assert "366 days" in found["inspection_expired"].sentence
        assert "Ridge" in found["inspection_expired"].sentence


@pytest.mark.parametrize("inspected_on", [None, DAY + timedelta(days=1)])
def test_a_stand_without_an_inspection_by_that_day_is_refused(inspected_on):
    assert "stand_not_inspected" in judged(**with_stand(inspected_on=inspected_on))


def test_a_failed_inspection_counts_until_one_is_passed():
    passed = RIDGE.inspected_on
    later, earlier = passed + timedelta(days=1), passed - timedelta(days=1)
    for failed_on in (passed, later):
        found = judged(**with_stand(failed_inspection_on=failed_on))
        assert set(found) == {"inspection_failed"}
    assert judged(**with_stand(failed_inspection_on=earlier)) == {}


@pytest.mark.parametrize(
    ("papers", "code"),
    [
        ((), "paper_missing"),
        ((PaperFacts(kind="waiver"),), "paper_missing"),
        ((PaperFacts(kind="licence", valid_until=DAY - timedelta(days=1)),), "paper_expired"),
        ((PaperFacts(kind="licence", valid_until=DAY),), None),
        ((PaperFacts(kind="licence", valid_from=DAY + timedelta(days=1)),), "paper_not_yet_valid"),
        ((PaperFacts(kind="licence", valid_from=DAY),), None),
        (
            (
                PaperFacts(kind="licence", valid_until=DAY - timedelta(days=9)),
                PaperFacts(kind="licence", valid_from=DAY - timedelta(days=8)),
            ),
            None,
        ),
    ],
)
def test_a_paper_must_cover_the_day_of_the_session(papers, code):
    assert set(judged(**with_ada(papers=papers))) == ({code} if code else set())


def test_an_expired_paper_names_the_person_the_paper_and_the_day():
    expired = PaperFacts(kind="licence", valid_until=date(2026, 11, 1))
    refusal = judged(**with_ada(papers=(expired,)))["paper_expired"]
    for part in ("licence", "Ada Long", "01 Nov 2026", "Sat 14 Nov 2026", "Oak Farm"):
        assert part in refusal.sentence
    assert refusal.facts["valid_until"] == "2026-11-01"


def test_a_guest_needs_a_guests_papers_and_no_role():
    with_gus = proposal(guest_ids=("gus",))
    assert judged(with_gus) == {}
    refusal = judged(with_gus, **with_guest(papers=()))["paper_missing"]
    assert "waiver" in refusal.sentence
    assert "Gus Rook" in refusal.sentence


@pytest.mark.parametrize(
    ("role", "is_refused"),
    [
        (RoleFacts(property_id="farm", role="hunter", until=DAY), False),
        (RoleFacts(property_id="farm", role="hunter", until=DAY - timedelta(days=1)), True),
        (RoleFacts(property_id="farm", role="hunter", since=DAY), False),
        (RoleFacts(property_id="farm", role="hunter", since=DAY + timedelta(days=1)), True),
        (RoleFacts(property_id="mill", role="hunter"), True),
    ],
)
def test_a_member_sits_only_where_a_role_covers_the_day(role, is_refused):
    assert ("no_role_here" in judged(**with_ada(roles=(role,)))) is is_refused


@pytest.mark.parametrize(
    ("first", "last", "is_refused"),
    [(0, 0, False), (1, 9, True), (-9, -1, True), (-9, 0, False), (0, 9, False)],
)
def test_a_season_counts_from_its_first_to_its_last_day(first, last, is_refused):
    season = replace(
        FARM.seasons[0],
        first_date=DAY + timedelta(days=first),
        last_date=DAY + timedelta(days=last),
    )
    found = judged(**with_farm(seasons=(season,)))
    assert ("out_of_season" in found) is is_refused
    if is_refused:
        assert "check your state's regulations" in found["out_of_season"].sentence


def test_a_weapon_that_the_season_does_not_allow_is_refused_with_those_it_does():
    assert judged(proposal(weapon="bow")) == {}
    refusal = judged(proposal(weapon="rifle"))["weapon_not_permitted"]
    assert "bow, crossbow and not rifle" in refusal.sentence
    assert not refusal.overrulable


def test_a_weapon_of_any_season_open_that_day_will_do():
    firearms = replace(FARM.seasons[0], name="firearms", weapons=frozenset({"rifle"}))
    seasons = with_farm(seasons=(FARM.seasons[0], firearms))
    assert "weapon_not_permitted" not in judged(proposal(weapon="rifle"), **seasons)


@pytest.mark.parametrize(
    ("first", "last", "is_allowed"), [(0, 0, True), (-9, 0, True), (-9, -1, False), (1, 9, False)]
)
def test_a_weapon_counts_from_the_first_to_the_last_day_of_its_own_season(first, last, is_allowed):
    firearms = replace(
        FARM.seasons[0],
        name="firearms",
        weapons=frozenset({"rifle"}),
        first_date=DAY + timedelta(days=first),
        last_date=DAY + timedelta(days=last),
    )
    found = judged(proposal(weapon="rifle"), **with_farm(seasons=(FARM.seasons[0], firearms)))
    assert ("weapon_not_permitted" not in found) is is_allowed


def test_a_property_without_seasons_says_that_none_are_set():
    refusal = judged(**with_farm(seasons=()))["out_of_season"]
    assert "Oak Farm (none are set)" in refusal.sentence


def test_the_seasons_that_are_set_are_named_with_their_days():
    ended = replace(FARM.seasons[0], last_date=DAY - timedelta(days=1))
    refusal = judged(**with_farm(seasons=(ended,)))["out_of_season"]
    assert "(archery 01 Oct 2026 to 13 Nov 2026)" in refusal.sentence


def test_dark_days_come_by_weekday_and_by_date():
    assert "dark_day" in judged(house={"dark_weekdays": (6,)})
    assert "dark_day" not in judged(house={"dark_weekdays": (5, 7)})
    refusal = judged(**with_farm(dark_dates=frozenset({DAY})))["dark_day"]
    assert "Oak Farm" in refusal.sentence
    assert refusal.overrulable

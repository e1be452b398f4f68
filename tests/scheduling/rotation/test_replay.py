"""The replayed season: one world for every way, rules kept, and nothing assumed in favour."""

import re
from dataclasses import replace
from datetime import timedelta
from io import StringIO
from math import exp

import pytest
from django.core.management import CommandError, call_command

from properties.sessions.kinds import SessionKey, SessionKind
from scheduling.rotation.audit import audit
from scheduling.rotation.problem import Seat
from scheduling.rotation.replay.figures import figures
from scheduling.rotation.replay.play import Sat, Way, play, week_problem
from scheduling.rotation.replay.pressure import ASSUMPTIONS, Learns, Pressure, deer_met
from scheduling.rotation.replay.season import FIRST_DAY, Assumed, make_season

SMALL = Assumed(weeks=2, stands=6, stands_a_property=3, members=8)


def pressure(learns: Learns, **figures: float) -> Pressure:
    return Pressure(
        name="tried", learns=learns, **{"strength": 0.5, "half_life_days": 10, **figures}
    )


def sat(day: int, *, sector: int = 0, fit_percent: int = 80, stand: str = "S000") -> Sat:
    session = SessionKey(FIRST_DAY + timedelta(days=day), SessionKind.EVENING)
    return Sat(seat=Seat("M000", stand, session), sector=sector, fit_percent=fit_percent)


def of_presence_one():
    season = make_season(SMALL, seed=1)
    return replace(season, presence=season.presence * 0 + 1)


def test_a_season_is_the_same_for_the_same_seed_and_another_for_another():
    assert make_season(SMALL, seed=1).weeks == make_season(SMALL, seed=1).weeks
    assert make_season(SMALL, seed=1).weeks != make_season(SMALL, seed=2).weeks


def test_every_way_meets_the_same_wishes_forecasts_and_stands():
    season = make_season(SMALL, seed=1)
    problems = [week_problem(season, season.weeks[0], (), way) for way in Way]
    for problem in problems:
        assert problem.members == problems[0].members
        assert problem.outlooks == problems[0].outlooks
        assert problem.exclusions == problems[0].exclusions
        assert problem.fit_floor_percent == problems[0].fit_floor_percent


@pytest.mark.parametrize("way", Way)
def test_every_way_keeps_its_own_rules_week_after_week(way):
    season = make_season(SMALL, seed=3)
    played = play(season, way)
    assert played.sits
    for week in season.weeks:
        before = [one for one in played.sits if one.seat.session < week.sessions[0]]
        plan = [one.seat for one in played.sits if one.seat.session in week.sessions]
        problem = week_problem(season, week, before, way)
        assert audit(problem, plan) == []
        asked = {member.id: member.sits_requested for member in week.members}
        for member_id, sits in asked.items():
            assert sum(seat.member_id == member_id for seat in plan) <= sits


def test_the_board_alone_breaks_the_rest_that_the_house_rules_ask_for():
    season = make_season(SMALL, seed=3)
    sits = play(season, Way.BOARD).sits
    week = season.weeks[1]
    before = [one for one in sits if one.seat.session < week.sessions[0]]
    plan = [one.seat for one in sits if one.seat.session in week.sessions]
    broken = audit(week_problem(season, week, before, Way.FIRST_COME), plan)
    assert {"stand_resting", "same_wind"} <= {violation.code for violation in broken}


def test_a_sit_is_judged_on_the_wind_that_blew_not_on_the_forecast():
    season = make_season(SMALL, seed=1)
    for one in play(season, Way.FIRST_COME).sits:
        row = [stand.id for stand in season.stands].index(one.seat.stand_id)
        assert one.sector == season.observed[one.seat.session]
        assert one.fit_percent == season.fit_by_sector[row, one.sector]


def test_deer_that_do_not_learn_are_met_by_fit_alone_whatever_was_sat_before():
    sits = [sat(day, sector=day % 2, fit_percent=60) for day in range(5)]
    assert deer_met(of_presence_one(), sits, pressure(Learns.NOTHING)) == pytest.approx([0.6] * 5)


def test_deer_that_learn_of_use_forget_half_in_a_half_life():
    first, later = deer_met(of_presence_one(), [sat(0), sat(10)], pressure(Learns.OF_USE))
    assert first == pytest.approx(0.8)
    assert later == pytest.approx(0.8 * exp(-0.5 * 0.5))


def test_deer_that_learn_by_wind_mind_that_wind_half_its_neighbours_and_no_other():
    season, learnt = of_presence_one(), pressure(Learns.BY_WIND, half_life_days=1e9)
    met = {
        sector: deer_met(season, [sat(0, sector=0), sat(1, sector=sector)], learnt)[1]
        for sector in (0, 1, 2, 7)
    }
    assert met[0] == pytest.approx(0.8 * exp(-0.5))
    assert met[1] == met[7] == pytest.approx(0.8 * exp(-0.25))
    assert met[2] == pytest.approx(0.8)


def test_deer_that_learn_when_they_smell_a_hunter_learn_nothing_from_a_perfect_sit():
    season, learnt = of_presence_one(), pressure(Learns.WHEN_WINDED, half_life_days=1e9)
    clean = deer_met(season, [sat(0, fit_percent=100), sat(1)], learnt)[1]
    smelled = deer_met(season, [sat(0, fit_percent=0), sat(1)], learnt)[1]
    assert (clean, smelled) == pytest.approx((0.8, 0.8 * exp(-0.5)))


def test_another_stand_is_not_spoiled():
    season = of_presence_one()
    met = deer_met(season, [sat(0), sat(1, stand="S001")], pressure(Learns.OF_USE))
    assert met == pytest.approx((0.8, 0.8))


def test_one_assumption_lets_deer_learn_nothing_and_one_is_deaf_to_the_wind():
    assert {one.learns for one in ASSUMPTIONS} == set(Learns)
    season = make_season(SMALL, seed=1)
    sits = play(season, Way.BOARD).sits
    turned = [replace(one, sector=(one.sector + 3 * number) % 8) for number, one in enumerate(sits)]
    for one in ASSUMPTIONS:
        same = deer_met(season, sits, one) == deer_met(season, turned, one)
        assert same == (one.learns is not Learns.BY_WIND)


def test_the_figures_of_a_season_counted_by_hand():
    season = make_season(SMALL, seed=1)
    asking = [member for member, sits in season.sits_asked.items() if sits]
    first = asking[0]
    sits = tuple(
        replace(one, seat=one.seat._replace(member_id=first))
        for one in (
            sat(0, sector=2),
            sat(9, sector=2),
            sat(13, sector=1),
            sat(20, sector=1),
            sat(21, sector=1),
            sat(23, sector=1),
        )
    )
    found = figures(season, replace(play(season, Way.BOARD), sits=sits))
    assert found.served == 6
    # All but the first on each wind, for 9 days lie within a window of 10 and 10 do not; the
    # fifth had two before it. The last had two as well: the third lies 10 days back.
    assert found.on_used_wind == pytest.approx(4 / 6)
    assert found.beyond_cap == pytest.approx(2 / 6)
    assert found.average_fit == pytest.approx(0.8)
    assert (found.worst_sits, found.worst_quality) == (0, 0)
    # One has all: G = (n - 1) / n (MathWorld, "Gini Coefficient").
    assert found.gini == pytest.approx((len(asking) - 1) / len(asking))


def test_the_command_prints_every_figure_and_draws_a_picture_with_its_words(tmp_path):
    out, svg = StringIO(), tmp_path / "seasons.svg"
    size = {"seasons": 2, "weeks": 1, "stands": 4, "members": 5}
    call_command("replayseason", **size, picture=svg, stdout=out)
    text, drawn = out.getvalue(), svg.read_text(encoding="utf-8")
    for label in ("sits served", "wind already used", "average fit", "Gini", "worst served"):
        assert label in text
    for one in ASSUMPTIONS:
        assert one.name in text
        assert one.name in drawn
    assert "4 plans, 4 proven" in text
    assert re.search(r"<svg [^>]*role=\"img\"[^>]*><title>.+</title><desc>.+</desc>", drawn)
    again = StringIO()
    call_command("replayseason", **size, stdout=again)
    assert again.getvalue() == text.replace(f"Picture written to {svg}.\n", "")


def test_the_command_refuses_a_season_of_nothing():
    with pytest.raises(CommandError, match="a stand"):
        call_command("replayseason", stands=0)
    with pytest.raises(CommandError, match="seasons"):
        call_command("replayseason", seasons=0)

"""The figures of a season, from rows alone."""

from datetime import UTC, date, datetime

import pytest

from coop.reports.season import sentences
from coop.reports.season.figures import digest_of, season_figures
from coop.reports.season.rows import LandSeason, SatRow, SeasonRows, ShareRow, WatchedRow
from tests.coop.reports.plain_rows import SETTINGS

AFTER = datetime(2026, 8, 1, tzinfo=UTC)


def sat(person="ann", on=date(2025, 10, 3), **changes):
    values = {
        "standing": "member",
        "hours": 3.0,
        "is_reported": True,
        "shots": 0,
        "deer": 2,
        "bucks": 1,
        "does": 1,
    }
    return SatRow(person=person, local_date=on, **{**values, **changes})


def land(name="North", **changes):
    values = {
        "sits": (),
        "taken": (),
        "plan": {},
        "closed_days": 0,
        "notes": {},
        "work": 0,
        "watched": WatchedRow(visits=0, camera_nights=0.0, low=0.0, high=3.7),
    }
    return LandSeason(name=name, **{**values, **changes})


def figures_of(*lands, shares=(), now=AFTER):
    rows = SeasonRows(
        cooperative_name="Test Hollow Hunters",
        season_year=2025,
        first_on=date(2025, 7, 1),
        last_on=date(2026, 6, 30),
        time_zones=("America/Chicago",),
        starts_at=datetime(2025, 7, 1, 5, tzinfo=UTC),
        ends_at=datetime(2026, 7, 1, 5, tzinfo=UTC),
        now=now,
        lands=lands,
        shares=tuple(shares),
    )
    return season_figures(rows, SETTINGS)


def test_deer_an_hour_are_those_of_reported_sits_whose_hours_are_known():
    sitting = figures_of(
        land(
            sits=(
                sat(hours=4.0, deer=6),
                sat(hours=2.0, deer=0, bucks=0, does=0),
                sat(hours=None, deer=9, bucks=0, does=4),
                sat(hours=5.0, deer=0, bucks=0, does=0, is_reported=False),
            )
        )
    ).together

    assert sitting.deer_per_hour == 1.0
    assert sitting.hours == 11.0
    assert (sitting.sits, sitting.reported, sitting.deer_seen) == (4, 3, 15)
    assert sitting.bucks_per_doe == 0.2


def test_nothing_to_divide_by_is_no_rate():
    sitting = figures_of(land(sits=(sat(hours=None, does=0, bucks=2),))).together

    assert sitting.deer_per_hour is None
    assert sitting.bucks_per_doe is None


def test_somebody_on_two_properties_is_one_person_of_the_cooperative():
    figures = figures_of(
        land("North", sits=(sat("ann"), sat("ben"))),
        land("South", sits=(sat("ann"), sat("hal", standing="guest"))),
    )

    assert [one.sitting.people for one in figures.properties] == [2, 2]
    assert figures.together.people == 3
    assert figures.together.guests_and_clients == 1


def test_deer_stand_against_each_propertys_own_plan_and_over_it_is_said():
    deer = (("antlered", date(2025, 11, 8)), ("antlered", date(2025, 11, 9)))
    figures = figures_of(
        land("North", taken=deer, plan={"antlered": 1, "antlerless": 4}),
        land("South", taken=deer[:1]),
    )

    assert sentences.over_plan(figures) == [
        "North: Antlered: 2 of 1, 1 over the plan.",
        "South: Antlered: 1, no plan is entered.",
    ]
    assert sentences.summary(figures)[1] == "3 deer were taken of 5 planned."


def test_the_season_has_twelve_months_from_its_first_over_new_year():
    figures = figures_of(
        land(
            sits=(sat(on=date(2025, 12, 31)), sat(on=date(2026, 1, 1)), sat(on=date(2026, 1, 2))),
            taken=(("antlered", date(2026, 1, 2)),),
        )
    )
    by_month = {f"{one.month:%Y-%m}": one for one in figures.months}

    assert next(iter(by_month)) == "2025-07"
    assert list(by_month)[-1] == "2026-06"
    assert (by_month["2025-12"].sits, by_month["2026-01"].sits) == (1, 2)
    assert by_month["2026-01"].deer_taken == 1
    assert sum(one.sits for one in figures.months) == figures.together.sits


def test_sharing_counts_those_who_asked_or_sat_and_names_nobody():
    sharing = figures_of(
        land(),
        shares=(
            ShareRow(weight=1, asked=3, got=0),
            ShareRow(weight=1, asked=0, got=0),
            ShareRow(weight=2, asked=8, got=6),
            ShareRow(weight=1, asked=2, got=3),
        ),
    ).sharing

    assert (sharing.members, sharing.asked, sharing.got) == (3, 13, 9)
    assert (sharing.without_a_sit, sharing.fewest, sharing.middle, sharing.most) == (1, 0, 3, 6)
    # By entitlement 0, 3 and 3 sits: G = (-2·0 + 0·3 + 2·3) / (3·6) by MathWorld's formula.
    assert sharing.gini_of_sits == pytest.approx(0.333)


def test_an_empty_season_says_so():
    assert sentences.summary(figures_of(land())) == [
        "No sit is on record this season.",
        "No deer is recorded as taken; no plan is entered.",
    ]


def test_a_season_that_runs_is_not_finished_and_time_alone_changes_no_digest():
    first = figures_of(land(sits=(sat(),)))
    later = figures_of(land(sits=(sat(),)), now=datetime(2027, 1, 1, tzinfo=UTC))
    other = figures_of(land(sits=(sat(), sat())))

    assert not figures_of(land(), now=datetime(2026, 7, 1, 4, 59, tzinfo=UTC)).finished
    assert first.finished
    assert digest_of(first.as_dict()) == digest_of(later.as_dict())
    assert digest_of(first.as_dict()) != digest_of(other.as_dict())

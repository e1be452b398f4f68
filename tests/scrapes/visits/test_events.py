"""Pictures become visits: the rule, its edge, individuals, and order of rows."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.land.settings import InvalidSetting
from scrapes.visits.events import UNIDENTIFIED, independent_visits
from scrapes.visits.independence import IndependenceRule
from scrapes.visits.settings import VisitSettings

LAST_PICTURE = VisitSettings()
LAST_COUNTED = VisitSettings(independence_rule=IndependenceRule.SINCE_LAST_COUNTED)
MINUTE = 60


def whole(*values):
    return np.array(values, dtype=np.int64)


def visits_at(*minutes, rule=LAST_PICTURE, **columns):
    start = whole(*minutes) * MINUTE
    columns.setdefault("scrape", np.zeros(len(start), dtype=np.int64))
    return independent_visits(start_s=start, settings=rule, **columns)


def counted_one_by_one(rows, *, rule):
    """The same rule, written as a person would apply it to one stream of instants."""
    starts, last_picture, last_counted = [], None, None
    for at in sorted(rows):
        since = last_picture if rule is LAST_PICTURE else last_counted
        if since is None or at - since >= 30 * MINUTE:
            starts.append(at)
            last_counted = at
        last_picture = at
    return starts


def test_a_gap_of_exactly_the_interval_starts_a_new_visit():
    assert len(visits_at(0, 30)) == 2
    assert (
        len(independent_visits(scrape=whole(0, 0), start_s=whole(0, 1799), settings=LAST_PICTURE))
        == 1
    )


def test_a_long_stay_is_one_visit_since_the_last_picture_and_several_since_the_last_counted():
    minutes = range(0, 121, 20)
    assert len(visits_at(*minutes)) == 1
    assert visits_at(*minutes, rule=LAST_COUNTED).start_s.tolist() == [0, 2400, 4800, 7200]


@pytest.mark.parametrize("rule", [LAST_PICTURE, LAST_COUNTED], ids=["picture", "counted"])
@settings(max_examples=60, deadline=None)
@given(rows=st.lists(st.tuples(st.integers(0, 3), st.integers(0, 20_000)), min_size=1, max_size=60))
def test_every_scrape_is_counted_as_a_person_would_count_it(rule, rows):
    found = independent_visits(
        scrape=whole(*(scrape for scrape, _ in rows)),
        start_s=whole(*(at for _, at in rows)),
        settings=rule,
    )
    for scrape in range(4):
        mine = [at for place, at in rows if place == scrape]
        assert found.start_s[found.scrape == scrape].tolist() == counted_one_by_one(mine, rule=rule)
    assert found.pictures.sum() == len(rows)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_the_order_of_rows_does_not_matter(data):
    rows = data.draw(
        st.lists(
            st.tuples(
                st.integers(0, 2), st.integers(0, 1), st.integers(-1, 2), st.integers(0, 9999)
            ),
            min_size=1,
            max_size=40,
        )
    )
    shuffled = data.draw(st.permutations(rows))

    def visits(of):
        scrape, kind, individual, start = (whole(*column) for column in zip(*of, strict=True))
        found = independent_visits(
            scrape=scrape, kind=kind, individual=individual, start_s=start, settings=LAST_PICTURE
        )
        return np.stack([found.scrape, found.kind, found.individual, found.start_s, found.pictures])

    assert np.array_equal(visits(rows), visits(shuffled))


def test_two_known_bucks_at_once_are_two_visits():
    found = visits_at(0, 1, 2, 3, individual=whole(0, 1, 0, 1))
    assert found.individual.tolist() == [0, 1]
    assert found.pictures.tolist() == [2, 2]


@pytest.mark.parametrize(
    "species",
    [{"elk": "wapiti"}, {"elk": [3]}, {"elk": ["wapiti"], "red deer": ["Wapiti"]}],
)
def test_species_need_lists_of_names_that_no_other_has(species):
    with pytest.raises(InvalidSetting, match="deer_species"):
        VisitSettings(deer_species=species)


def test_individuals_are_left_out_of_account_when_the_setting_says_so():
    rule = VisitSettings(by_individual=False)
    assert len(visits_at(0, 1, rule=rule, individual=whole(0, 1))) == 1


def test_an_unidentified_deer_amid_an_identified_one_is_the_same_visit():
    found = visits_at(0, 5, 10, 60, individual=whole(4, UNIDENTIFIED, 4, UNIDENTIFIED))
    assert found.individual.tolist() == [UNIDENTIFIED, 4]
    assert found.start_s.tolist() == [60 * MINUTE, 0]
    assert found.pictures.tolist() == [1, 3]


def test_an_unidentified_deer_exactly_the_interval_away_is_another_visit():
    assert len(visits_at(0, 30, individual=whole(4, UNIDENTIFIED))) == 2
    assert len(visits_at(0, 30, individual=whole(UNIDENTIFIED, 4))) == 2
    assert len(visits_at(1, 30, individual=whole(UNIDENTIFIED, 4))) == 1


def test_an_unidentified_deer_of_another_kind_or_scrape_stays_a_visit():
    who = whole(4, UNIDENTIFIED)
    assert len(visits_at(0, 5, individual=who, kind=whole(0, 1))) == 2
    assert len(visits_at(0, 5, individual=who, scrape=whole(0, 1))) == 2
    apart = VisitSettings(unidentified_join_known=False)
    assert len(visits_at(0, 5, individual=who, rule=apart)) == 2


def test_rows_that_span_time_are_measured_from_their_end():
    start, end = whole(0, 50 * MINUTE), whole(40 * MINUTE, 55 * MINUTE)
    found = independent_visits(scrape=whole(0, 0), start_s=start, end_s=end, settings=LAST_PICTURE)
    assert found.start_s.tolist() == [0]
    assert found.end_s.tolist() == [55 * MINUTE]


def test_a_short_row_inside_a_long_one_does_not_shorten_the_visit():
    start, end = whole(0, 10, 70) * MINUTE, whole(60, 11, 71) * MINUTE
    found = independent_visits(
        scrape=whole(7, 7, 7), start_s=start, end_s=end, settings=LAST_PICTURE
    )
    assert found.start_s.tolist() == [0]
    assert found.scrape.tolist() == [7]


def test_large_codes_that_would_not_fit_one_number_are_renumbered():
    found = independent_visits(
        scrape=whole(2**40, 3, 2**40),
        start_s=whole(2_000_000_000, 0, 2_000_000_010),
        settings=LAST_PICTURE,
    )
    assert found.scrape.tolist() == [3, 2**40]
    assert found.pictures.tolist() == [1, 2]


def test_no_rows_make_no_visits():
    assert len(visits_at()) == 0


def test_refuses_columns_that_cannot_be_right():
    with pytest.raises(ValueError, match="same length"):
        visits_at(0, 1, scrape=whole(0))
    with pytest.raises(ValueError, match="negative"):
        visits_at(0, scrape=whole(-1))
    with pytest.raises(ValueError, match="ends before"):
        independent_visits(scrape=whole(0), start_s=whole(5), end_s=whole(4), settings=LAST_PICTURE)


def test_an_unknown_rule_is_an_invalid_setting():
    with pytest.raises(InvalidSetting, match="since_last_picture"):
        VisitSettings(independence_rule="since_forever")

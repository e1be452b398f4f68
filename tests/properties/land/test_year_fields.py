"""The years that may be entered and asked about are the same at every member that names one."""

import pytest
from rest_framework import serializers

from properties.land.year_fields import DayWithinYearsField, SeasonYearField


class Asked(serializers.Serializer):
    day = DayWithinYearsField(required=False)
    season_year = SeasonYearField(required=False)


def faults(**asked):
    serializer = Asked(data=asked)
    serializer.is_valid()
    return {name: [str(each) for each in found] for name, found in serializer.errors.items()}


@pytest.mark.parametrize("day", ["2000-01-01", "2100-12-31"])
def test_a_day_within_the_years_is_taken(day):
    assert faults(day=day) == {}


@pytest.mark.parametrize("day", ["1999-12-31", "2101-01-01", "0001-01-01", "9999-12-31"])
def test_a_day_outside_the_years_is_refused(day):
    assert faults(day=day) == {"day": ["Must lie between the years 2000 and 2100."]}


@pytest.mark.parametrize(("year", "is_taken"), [(1999, 0), (2000, 1), (2100, 1), (2101, 0)])
def test_a_seasons_year_lies_within_them_too(year, is_taken):
    assert (faults(season_year=year) == {}) is bool(is_taken)


@pytest.mark.parametrize(
    ("path", "asked", "at_fault"),
    [
        ("land-calendar", {"first_on": "1999-12-31", "last_on": "2000-01-05"}, "?first_on"),
        ("herd-observations", {"first_on": "1999-12-31"}, "?first_on"),
        ("herd-observations", {"last_on": "2101-01-01"}, "?last_on"),
        ("harvest-figures", {"last_year": 1999}, "?last_year"),
        ("harvests/export", {"season_year": 2101}, "?season_year"),
    ],
)
def test_a_question_outside_the_years_is_refused_where_it_says_so(cast, path, asked, at_fault):
    query = {"property": str(cast.north.id), **asked}
    answer = cast.client(cast.manager).get(f"/api/v1/{path}/", query)

    assert answer.status_code == 400, answer.content
    assert [error["pointer"] for error in answer.json()["errors"]] == [at_fault]

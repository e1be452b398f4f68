"""Conditions from a table: what is read, what is left out, and why."""

from datetime import UTC, datetime

import pytest

from properties.conditions.condition_rows import read_conditions

HEADER = "reference,kind,starts_at,ends_at,value\n"
FROM, UNTIL = "2025-11-08T15:00:00-06:00", "2025-11-08T21:00:00-06:00"


def read_one(line):
    table = read_conditions(HEADER + line)
    return table.rows[0] if table.rows else table.skipped[0].reason


@pytest.mark.parametrize(
    ("line", "figure", "value"),
    [
        (f"a,thunder,{FROM},{UNTIL},0.4", "thunder_chance", 0.4),
        (f"a,fire_danger,{FROM},{UNTIL},5", "fire_danger_level", 5),
        (f"a,water,{FROM},,4.25", "water_level_m", 4.25),
        (f"a,water,{FROM},,0", "water_level_m", 0),
        (f"a,thunder,{FROM},,0", "thunder_chance", 0),
    ],
)
def test_each_kind_has_its_own_figure_and_no_other(line, figure, value):
    columns = read_one(line).columns()

    assert columns.pop(figure) == value
    assert [columns[name] for name in columns if name.endswith(("_chance", "_level", "_m"))] == [
        None,
        None,
    ]
    assert columns["starts_at"] == datetime(2025, 11, 8, 21, tzinfo=UTC)


def test_an_offset_is_read_whatever_it_is_and_kept_in_utc():
    columns = read_one("a,water,2025-11-08T15:00:00+23:30,,4.25").columns()

    assert (columns["starts_at"], columns["starts_at"].tzinfo) == (
        datetime(2025, 11, 7, 15, 30, tzinfo=UTC),
        UTC,
    )


@pytest.mark.parametrize("year", ["0001", "1900", "2200", "9999"])
def test_a_year_that_cannot_be_meant_is_left_out(year):
    assert "cannot be meant" in read_one(f"a,water,{year}-11-08T15:00:00-06:00,,4.25")


def test_ice_has_no_figure():
    columns = read_one(f"a,ice,{FROM},{UNTIL},").columns()

    assert {columns[name] for name in columns if name.endswith(("_chance", "_level", "_m"))} == {
        None
    }


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (f",ice,{FROM},,", "no reference"),
        (f"a,hail,{FROM},,", "none of thunder, fire_danger, water, ice"),
        ("a,ice,2025-11-08T15:00:00,,", "carries no offset"),
        ("a,ice,yesterday,,", "no instant"),
        (f"a,ice,{UNTIL},{FROM},", "does not lie after"),
        (f"a,thunder,{FROM},,1.1", "between 0 and 1"),
        (f"a,thunder,{FROM},,nan", "between 0 and 1"),
        (f"a,fire_danger,{FROM},,2.5", "whole number"),
        (f"a,fire_danger,{FROM},,0", "between 1 and 5"),
        (f"a,water,{FROM},,high", "no number"),
    ],
)
def test_a_line_that_is_left_out_has_its_reason(line, why):
    assert why in read_one(line)


def test_lines_are_counted_and_a_reference_stands_once():
    table = read_conditions(
        HEADER + f"a,ice,{FROM},,\nb,hail,{FROM},,\na,ice,{UNTIL},,\nc,ice,{FROM},,\n"
    )

    assert [(row.line, row.reference) for row in table.rows] == [(2, "a"), (5, "c")]
    assert [skipped.line for skipped in table.skipped] == [3, 4]


def test_a_table_without_its_columns_is_refused():
    with pytest.raises(ValueError, match="value"):
        read_conditions("reference,kind,starts_at,ends_at\n")

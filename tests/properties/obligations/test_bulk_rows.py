"""A table of people is read whole or with every fault named by line and column."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.obligations.bulk_rows import COLUMNS, BulkKind, read_bulk

DUES = b"""person,season_year,amount,due_on,paid_on
mia@example.org,2025,450,2025-08-01,2025-07-30
ben@example.org,2025,450.50,2025-08-01,
"""
MEMBERS = (
    "\ufeffemail,name,joined_on,properties\r\n"
    'ada@example.org,"Long, Ada",2025-03-01,North; South\r\n'
    "bo@example.org,Bo Short,2024-03-01,\r\n"
).encode()
WORK = b"""person,property,worked_on,hours,what
mia@example.org,North,2025-08-16,4.5,"Mowed
the lanes"
ben@example.org,North,2025-08-16,8,Gate
"""


def faults(kind, content):
    table = read_bulk(kind, content)
    return [(fault.line, fault.column) for fault in table.faults]


def test_a_table_gives_its_values_and_leaves_empty_cells_out():
    table = read_bulk(BulkKind.DUES, DUES)
    assert table.faults == ()
    assert [row.line for row in table.rows] == [2, 3]
    assert str(table.rows[1].values["amount"]) == "450.50"
    assert "paid_on" not in table.rows[1].values


def test_a_table_of_a_spreadsheet_is_read_with_its_mark_quotes_and_line_ends():
    table = read_bulk(BulkKind.MEMBERS, MEMBERS)
    assert table.faults == ()
    assert table.rows[0].values["name"] == "Long, Ada"
    assert table.rows[0].values["properties"] == ("North", "South")


def test_a_cell_of_two_lines_is_refused_and_the_next_row_keeps_its_own_number():
    content = WORK.replace(b",8,", b",80,")
    assert faults(BulkKind.WORK_DAYS, content) == [(2, "what"), (4, "hours")]


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        (b"450,", b"4,50,", (2, "")),
        (b"450,", b"450 USD,", (2, "amount")),
        (b"450,", b"-1,", (2, "amount")),
        (b"2025-07-30", b"30.07.2025", (2, "paid_on")),
        (b"2025-07-30", b"2025-02-30", (2, "paid_on")),
        (b",2025,450.50", b",,450.50", (3, "season_year")),
        (b"ben@", b"mia@", (3, "person")),
        (b"amount", b"sum", (1, "amount")),
        (b"450,", b"\xff450,", (2, "")),
        (b"450,", b'"450,', (2, "")),
        (b"450,", b"45\x000,", (2, "")),
    ],
)
def test_each_fault_names_its_line_and_column(old, new, where):
    assert where in faults(BulkKind.DUES, DUES.replace(old, new, 1))


def test_an_unknown_and_a_double_column_are_faults_of_the_header():
    content = DUES.replace(b"paid_on", b"paid_on,paid_on,remark")
    found = faults(BulkKind.DUES, content)
    assert (1, "remark") in found
    assert (1, "paid_on") in found


@pytest.mark.parametrize("content", [b"", b"\n\n", b" , \n"])
def test_an_empty_table_is_a_fault(content):
    assert faults(BulkKind.PAPERS, content) == [(1, "")]


def mutated(content, seed, count):
    """The bytes with some of them taken out, put in, or exchanged."""
    chance = random.Random(seed)
    data = bytearray(content)
    for _ in range(count):
        at = chance.randrange(len(data) + 1)
        what = chance.choice(("insert", "delete", "swap", "repeat"))
        if what == "insert":
            data.insert(at, chance.choice(b',"\n\r;-.0123456789abcZ\x00\xff\xc3 '))
        elif what == "delete" and at < len(data):
            del data[at]
        elif what == "swap" and at < len(data):
            data[at] = chance.randrange(256)
        else:
            data[at:at] = data[max(0, at - 30) : at]
    return bytes(data)


@settings(max_examples=400, deadline=None)
@given(
    table=st.sampled_from(
        [(BulkKind.DUES, DUES), (BulkKind.MEMBERS, MEMBERS), (BulkKind.WORK_DAYS, WORK)]
    ),
    seed=st.integers(0, 2**32),
    count=st.integers(1, 12),
)
def test_whatever_becomes_of_a_table_each_line_is_a_row_or_has_a_fault(table, seed, count):
    kind, content = table
    found = read_bulk(kind, mutated(content, seed, count))
    known = {column.name for column in COLUMNS[kind]}
    faulty = {fault.line for fault in found.faults}
    assert all(fault.detail and fault.line >= 1 for fault in found.faults)
    assert all(set(row.values) <= known for row in found.rows)
    if not found.faults:
        assert found.lines == len(found.rows)
    elif found.rows:
        bare = {row.line for row in found.rows} - faulty
        assert found.lines == len(bare) + len(faulty - {1})


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=400), st.sampled_from(list(BulkKind)))
def test_no_bytes_at_all_make_the_reader_fail(content, kind):
    table = read_bulk(kind, content)
    assert table.rows or table.faults or table.lines == 0

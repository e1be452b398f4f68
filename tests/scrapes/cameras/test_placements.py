"""Which deployment a row belongs to: by the file's name for it, and by its time."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from coop.records import new_id
from scrapes.cameras.observation_rows import Account, ObservationColumns, RowFaults, texts
from scrapes.cameras.placements import ENDLESS, Outside, Placement, Placements, in_order, place_rows

FIRST, SECOND = new_id(), new_id()
MOVED = Placements(
    by_name={
        "north": in_order(
            [
                Placement(deployment_id=SECOND, start_s=200),
                Placement(deployment_id=FIRST, start_s=100, end_s=200),
            ]
        )
    }
)


def rows(names, at_s):
    count = len(names)
    empty = texts([""] * count)
    return ObservationColumns(
        line=np.arange(2, count + 2),
        observation_id=texts([f"o{n}" for n in range(count)]),
        deployment_id=texts(names),
        start_s=np.array(at_s, dtype=np.int64),
        end_s=np.array(at_s, dtype=np.int64),
        kind=texts(["animal"] * count),
        event_level=np.zeros(count, dtype=bool),
        set_up=np.zeros(count, dtype=bool),
        species=empty,
        count=np.zeros(count, dtype=np.int64),
        sex=empty,
        life_stage=empty,
        individual=empty,
        daylight=np.zeros(len(names), dtype=bool),
    )


def placed(names, at_s, where=MOVED):
    account = Account("observations", lines_listed=100)
    table = rows(names, at_s)
    account.read(len(table))
    found = place_rows(table, where=where, faults=RowFaults(table.line, account))
    return found, account.close()


def test_a_cameras_rows_go_to_where_it_hung_at_the_time():
    found, account = placed(["north"] * 4, [100, 199, 200, 9_999])

    assert found.deployment_id.tolist() == [FIRST, FIRST, SECOND, SECOND]
    assert account.skipped_count == 0


def test_the_second_in_which_a_camera_was_taken_down_still_counts():
    once = Placements(by_name={"d1": (Placement(deployment_id=FIRST, start_s=0, end_s=50),)})
    found, account = placed(["d1", "d1"], [50, 51], once)

    assert found.deployment_id.tolist() == [FIRST]
    assert found.outside == {FIRST: Outside(rows=1, first_s=51, last_s=51)}
    assert account.skipped_by_code == {"outside_deployment": 1}
    assert account.skipped[0].line == 3


def test_rows_outside_tell_how_many_and_from_when_to_when():
    once = Placements(by_name={"d1": (Placement(deployment_id=FIRST, start_s=100, end_s=150),)})
    found, _ = placed(["d1"] * 4, [10, 120, 170, 160], once)

    assert found.outside == {FIRST: Outside(rows=3, first_s=10, last_s=170)}


def test_rows_before_the_first_deployment_are_outside_it():
    found, account = placed(["north"], [99])

    assert len(found.rows) == 0
    assert found.outside == {FIRST: Outside(rows=1, first_s=99, last_s=99)}
    assert account.skipped_by_code == {"outside_deployment": 1}


def test_a_name_that_is_not_ours_is_said_with_each_line():
    found, account = placed(["north", "elsewhere", "elsewhere"], [100, 100, 100])

    assert found.rows.observation_id.tolist() == ["o0"]
    assert [one.line for one in account.skipped] == [3, 4]
    assert account.skipped_by_code == {"deployment_not_ours": 2}


@given(st.lists(st.tuples(st.sampled_from(["north", "south"]), st.integers(0, 400)), max_size=30))
def test_every_row_is_placed_in_a_span_that_holds_it_or_accounted_for(told):
    found, account = placed([name for name, _at in told], [at for _name, at in told])

    spans = {FIRST: (100, 200), SECOND: (200, ENDLESS)}
    assert len(found.rows) + account.skipped_count == len(told)
    for deployment_id, at in zip(
        found.deployment_id.tolist(), found.rows.start_s.tolist(), strict=True
    ):
        assert spans[deployment_id][0] <= at <= spans[deployment_id][1]

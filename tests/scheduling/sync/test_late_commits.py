"""What is committed late is not missed, though it was written first.

Two transactions at once are needed, which SQLite does not have: there the writers queue.
"""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event

import pytest
from django.db import connection, connections, transaction

from scheduling.sits.life_services import cancel_sit
from scheduling.sync.change_services import number_changes
from scheduling.sync.models import Change
from tests.cast import NOW, make_cast
from tests.scheduling.sits.stage import booked, make_stage
from tests.scheduling.sync.following import Copy

WAIT_S = 20


@pytest.fixture
def stage(transactional_db):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one writer at a time")
    return make_stage(make_cast())


def test_a_reader_hears_of_a_row_that_was_written_first_and_committed_last(stage):
    first, second = booked(stage), booked(stage, stage.ben, stage.creek)
    manager = stage.cast.actor(stage.cast.manager)
    copy = Copy(stage.cast.client(stage.cast.manager))
    copy.follow()
    written, may_commit = Event(), Event()

    def late():
        try:
            with transaction.atomic():
                cancel_sit(actor=manager, sit=first, reason="", now=NOW)
                written.set()
                assert may_commit.wait(WAIT_S)
        finally:
            connections["default"].close()

    with ThreadPoolExecutor(max_workers=1) as pool:
        running = pool.submit(late)
        try:
            assert written.wait(WAIT_S)
            cancel_sit(actor=manager, sit=second, reason="", now=NOW)
            heard_meanwhile = copy.follow()
        finally:
            may_commit.set()
        running.result(WAIT_S)

    assert heard_meanwhile == [str(second.id)]
    assert copy.follow() == [str(first.id)]
    # The order of writing was the other one: a cursor by it would have passed the late row.
    cancelled = {
        row.sit_id: row for row in Change.objects.filter(number__isnull=False).order_by("id")
    }
    assert cancelled[first.id].id < cancelled[second.id].id
    assert cancelled[first.id].number > cancelled[second.id].number


def test_many_readers_who_number_at_once_leave_no_gap_and_no_number_twice(stage):
    for day in range(8):
        Change.objects.bulk_create(
            Change(
                cooperative=stage.cast.cooperative, property_id=stage.cast.north.id, changed_at=NOW
            )
            for _number in range(40 + day)
        )
    gate = Barrier(6)

    def number():
        try:
            gate.wait(WAIT_S)
            return number_changes(cooperative_id=stage.cast.cooperative.id)
        finally:
            connections["default"].close()

    with ThreadPoolExecutor(max_workers=6) as pool:
        last = set(pool.map(lambda _turn: number(), range(6)))

    numbers = sorted(
        Change.objects.filter(cooperative=stage.cast.cooperative).values_list("number", flat=True)
    )
    assert last == {len(numbers)}
    assert numbers == list(range(1, len(numbers) + 1))

"""Hits that were opened twice before that was refused."""

from datetime import UTC, datetime, timedelta
from importlib import import_module
from uuid import UUID

apart = import_module("scheduling.migrations.0003_guests_in_wishes").apart

AT = datetime(2026, 11, 20, 17, 5, tzinfo=UTC)
ONE, OTHER = UUID(int=1), UUID(int=2)
MOMENT = timedelta(microseconds=1)


def test_a_hit_said_twice_of_one_sit_is_told_apart_by_a_microsecond_and_others_stay():
    hits = [(ONE, AT), (OTHER, AT), (ONE, AT), (ONE, AT), (ONE, AT + MOMENT)]
    assert apart(hits) == [AT, AT, AT + MOMENT, AT + 2 * MOMENT, AT + 3 * MOMENT]

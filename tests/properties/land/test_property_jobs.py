"""Jobs of one property: queued and due under one name, and read back as that property."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest

from coop.jobs.models import JobRun
from properties.land.local_dates import local_date_on
from properties.land.property_jobs import (
    due_for,
    period_of_minutes,
    property_id_of,
    property_of,
    queue_for,
)
from properties.wind.jobs import COMPUTE_FITS as NAME
from tests.cast import NOW


@dataclass
class Run:
    """As much of a job's context as says which property it serves."""

    parameters: dict[str, str] = field(default_factory=dict)
    now: datetime = NOW


def test_what_is_due_names_its_property_as_what_is_queued_does(cast):
    due = due_for(cast.north.id, name=NAME, period="2025-11-01")
    queued = queue_for(cast.north.id, name=NAME, now=NOW)

    assert (due.name, due.period) == (NAME, "2025-11-01")
    for one in (due, queued):
        assert (one.name, one.scope) == (NAME, str(cast.north.id))
        assert one.property_id == cast.north.id
        run = Run(parameters=dict(one.parameters))
        assert property_id_of(run) == cast.north.id
        assert property_of(run) == cast.north


def test_asked_for_again_before_it_began_it_is_the_same_run(cast):
    first = queue_for(cast.north.id, name=NAME, now=NOW)
    again = queue_for(cast.north.id, name=NAME, now=NOW + timedelta(minutes=1))
    elsewhere = queue_for(cast.south.id, name=NAME, now=NOW)

    assert first.id == again.id != elsewhere.id
    assert JobRun.objects.filter(name=NAME).count() == 2


@pytest.mark.parametrize(
    ("minute", "every_min", "period"),
    [
        (0, 5, "2025-11-01T17:00"),
        (4, 5, "2025-11-01T17:00"),
        (5, 5, "2025-11-01T17:05"),
        (59, 5, "2025-11-01T17:55"),
        (59, 30, "2025-11-01T17:30"),
    ],
)
def test_a_watch_comes_round_once_in_so_many_minutes(minute, every_min, period):
    assert period_of_minutes(NOW.replace(minute=minute), every_min) == period


def test_the_local_date_follows_the_propertys_own_clock(cast):
    cast.north.time_zone = "America/Chicago"
    # Clocks went back in the night to 2 November 2025: midnight was at 05:00 UTC before.
    before = datetime(2025, 11, 2, 4, 59, tzinfo=UTC)

    assert local_date_on(cast.north, before).isoformat() == "2025-11-01"
    assert local_date_on(cast.north, before + timedelta(minutes=1)).isoformat() == "2025-11-02"

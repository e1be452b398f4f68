"""What happened in a sit is told with the offset of its property, wherever the sit is told."""

import json
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from coop.jobs.services import run_job
from scheduling.sits.models import Sit, SitState
from tests.cast import NOW
from tests.scheduling.sits.stage import booked
from tests.scheduling.sync.following import listed

pytestmark = pytest.mark.usefixtures("at_now")
FIRST = datetime(2025, 11, 2, 6, 30, tzinfo=UTC)
"""01:30 by the clock in the hour that comes twice; an hour later the clock shows it again."""
TWICE = {
    "checked_in_at": "2025-11-02T01:30:00-05:00",
    "checked_out_at": "2025-11-02T01:30:00-06:00",
    "back_by": "2025-11-02T02:30:00-06:00",
    # When it was told is a record.
    "check_in_entered_at": "2025-11-02T06:30:00Z",
    "check_out_entered_at": "2025-11-02T07:30:00Z",
}


@pytest.fixture
def sit(stage):
    sit = booked(stage)
    second = FIRST + timedelta(hours=1)
    Sit.objects.filter(id=sit.id).update(
        state=SitState.CHECKED_OUT,
        checked_in_at=FIRST,
        check_in_entered_at=FIRST,
        checked_out_at=second,
        check_out_entered_at=second,
        back_by=second + timedelta(hours=1),
    )
    return sit


def instants(row):
    return {name: row[name] for name in TWICE}


def test_alone_in_the_list_and_among_the_changes_it_is_told_alike(stage, sit):
    client = stage.cast.client(stage.cast.member)
    alone = client.get(f"/api/v1/sits/{sit.id}/").json()
    (changed,) = client.get("/api/v1/sits/changes/").json()["results"]

    assert instants(alone) == TWICE
    assert changed == alone == listed(client)[str(sit.id)]


def test_in_a_file_it_is_told_as_in_the_list(stage, sit, settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    client = stage.cast.client(stage.cast.member)
    place = client.post(
        "/api/v1/sit-exports/",
        {
            "property": str(stage.cast.north.id),
            "first_on": "2025-11-01",
            "last_on": "2025-11-30",
            "format": "jsonl",
        },
        format="json",
    )["Location"]
    run_job(run_id=UUID(place.split("/")[-2]), now=NOW)
    file = client.get(place).json()["file"]

    assert instants(json.loads(client.get(file).getvalue())) == TWICE

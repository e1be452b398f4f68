"""Ground is closed for days that are still to come, by the property's own calendar."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine

from properties.land.models import Closure

# Half past three in the night by UTC; on the property it is still the evening before.
AT = datetime(2025, 11, 20, 3, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("first", "last", "status"),
    [(-1800, -1800, 400), (-1, -1, 400), (-3, -1, 400), (-1, 0, 201), (0, 0, 201), (-1, 5, 201)],
)
def test_days_that_are_all_past_are_not_closed(cast, first, last, status):
    today = AT.astimezone(ZoneInfo(cast.north.time_zone)).date()
    assert today < AT.date()
    body = {
        "property": str(cast.north.id),
        "first_on": str(today + timedelta(days=first)),
        "last_on": str(today + timedelta(days=last)),
        "reason": "Logging",
    }
    with time_machine.travel(AT, tick=False):
        answer = cast.client(cast.landowner).post("/api/v1/closures/", body, format="json")

    assert answer.status_code == status, answer.content
    assert Closure.objects.exists() == (status == 201)
    if status == 400:
        (error,) = answer.json()["errors"]
        assert (error["pointer"], error["detail"]) == ("#/last_on", "Has passed already.")

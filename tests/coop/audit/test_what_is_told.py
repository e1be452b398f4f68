"""Instants that an event keeps of an object are told as conventions tell those of a record."""

from datetime import date

import pytest
import time_machine

from coop.api.audit_api import with_instants_told
from coop.audit.models import AuditEvent
from properties.land.models import Closure
from tests.cast import NOW

pytestmark = pytest.mark.django_db


def test_when_a_closure_was_lifted_is_told_with_t_and_z_and_stays_as_it_was_kept(cast):
    closed = Closure.objects.create(
        property=cast.north,
        first_on=date(2025, 11, 3),
        last_on=date(2025, 11, 3),
        reason="Cattle are moved.",
    )
    with time_machine.travel(NOW, tick=False):
        lifted = cast.client(cast.manager).post(f"/api/v1/closures/{closed.id}/lift/")
        told = cast.client(cast.coordinator).get(
            f"/api/v1/audit-events/?object_id={closed.id}&fields=before,after"
        )

    assert lifted.status_code == 200, lifted.data
    (event,) = told.json()["results"]
    assert event["before"]["lifted_at"] is None
    assert event["after"]["lifted_at"] == lifted.json()["lifted_at"]
    assert event["after"]["lifted_at"].endswith("Z")
    assert "T" not in AuditEvent.objects.get(object_id=str(closed.id)).after["lifted_at"]


def test_only_what_is_an_instant_from_end_to_end_is_told_anew():
    words = "Since 2025-11-03 06:00:00+00:00."
    kept = {"reason": words, "days": [1, None, "2025-11-03 06:00:00.5-06:00"], "on": "2025-11-03"}

    assert with_instants_told(kept) == {
        "reason": words,
        "days": [1, None, "2025-11-03T12:00:00.500000Z"],
        "on": "2025-11-03",
    }

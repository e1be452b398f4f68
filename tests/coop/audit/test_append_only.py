"""The audit record can be added to, and nothing else."""

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from coop.access.actors import system_actor
from coop.access.models import User
from coop.audit import services
from coop.audit.models import AuditEvent

pytestmark = pytest.mark.django_db


def written_event() -> AuditEvent:
    user = User.objects.create_user("ada@example.org", name="Ada")
    return services.record(
        actor=system_actor("test"),
        action="person:write",
        target=user,
        now=timezone.now(),
        reason="to see it kept",
    )


def test_an_event_keeps_who_what_why_and_no_secret():
    event = written_event()

    assert (event.actor_name, event.action, event.reason) == (
        "test",
        "person:write",
        "to see it kept",
    )
    assert event.after["email"] == "ada@example.org"
    assert "password" not in event.after


@pytest.mark.parametrize("verb", ["update", "delete"])
def test_the_database_refuses_to_change_an_event(verb):
    event = written_event()
    rows = AuditEvent.objects.filter(id=event.id)

    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        rows.update(reason="rewritten") if verb == "update" else rows.delete()

    assert rows.get().reason == "to see it kept"


@pytest.mark.django_db(transaction=True)
def test_the_flush_between_transactional_tests_leaves_the_guard_standing():
    event = written_event()

    with pytest.raises(DatabaseError, match="append-only"):
        AuditEvent.objects.filter(id=event.id).delete()

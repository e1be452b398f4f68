"""Whoever was erased stays erased."""

import pytest
import time_machine

from properties.people import erasure
from properties.people.models import Member, Paper
from properties.people.youth_models import YouthRecord
from tests.cast import NOW
from tests.properties.people.erasing import erased, left


@pytest.fixture(autouse=True)
def at_now(db):
    with time_machine.travel(NOW, tick=False):
        yield


def test_nothing_is_entered_about_somebody_erased(cast):
    person = cast.other_member
    left(cast, person)
    erased(cast, person)
    client = cast.client(cast.coordinator)

    def patched(address: str, **changes: object):
        etag = client.get(address)["ETag"]
        return client.patch(address, changes, HTTP_IF_MATCH=etag)

    answers = [
        patched(f"/api/v1/persons/{person.id}/", name="Back Again"),
        patched(f"/api/v1/persons/{person.id}/", phone="555-0102"),
        patched(f"/api/v1/members/{person.member.id}/", priority_points=3),
        client.post("/api/v1/papers/", {"person": str(person.id), "kind": "licence"}),
        client.post(
            "/api/v1/youths/",
            {
                "person": str(person.id),
                "youth_until": "2030-01-01",
                "supervisor": str(cast.member.id),
            },
        ),
    ]

    for answer in answers:
        assert answer.status_code == 400, answer.data
        assert [each["detail"] for each in answer.data["errors"]] == [
            "Their data was erased: nothing is entered about them."
        ]
    person.refresh_from_db()
    assert (person.name, Member.objects.get(person=person).priority_points) == (erasure.ERASED, 0)
    assert not Paper.objects.filter(person=person).exists()
    assert not YouthRecord.objects.filter(person=person).exists()

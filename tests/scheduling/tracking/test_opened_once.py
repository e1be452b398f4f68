"""One hit is followed by one open tracking; a second deer of the same sit by its own."""

from datetime import timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction

from coop.outbox.models import Message
from scheduling.tracking.models import Tracking

pytestmark = pytest.mark.django_db


def test_the_same_hit_is_opened_once_and_the_refusal_names_the_open_one(evening):
    first = evening.opened()

    again = evening.open(remarks="Told twice.")

    assert again.status_code == 409
    assert again.json()["code"] == "already_tracked"
    assert again.json()["tracking"] == first
    assert Tracking.objects.count() == 1
    assert Message.objects.filter(subject__contains="on foot").count() == 1


def test_the_manager_who_opens_it_for_the_hunter_meets_the_hunters_own(evening):
    first = evening.opened()

    again = evening.open(person=evening.cast.manager)

    assert (again.status_code, again.json()["tracking"]) == (409, first)


def test_a_lost_answer_asked_for_again_with_its_key_is_the_first_answer(evening):
    client = evening.cast.client(evening.mia)
    with time_machine.travel(evening.at, tick=False):
        first, again = (
            client.post(
                "/api/v1/trackings/",
                evening.opening(),
                format="json",
                headers={"Idempotency-Key": "hit-1"},
            )
            for _time in range(2)
        )

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert again["Idempotent-Replay"] == "true"


def test_a_second_deer_has_a_time_of_its_own(evening):
    evening.opened()

    later = (evening.hit_at + timedelta(minutes=1)).isoformat()

    assert evening.open(hit_at=later).status_code == 201


def test_a_hit_whose_tracking_has_ended_may_be_followed_again(evening):
    evening.end(evening.opened(), "seen_again")

    assert evening.open().status_code == 201


def test_the_database_holds_one_open_tracking_for_a_hit(evening):
    evening.opened()
    standing = Tracking.objects.get()
    copy = Tracking(
        property=standing.property,
        sit=standing.sit,
        hunter=standing.hunter,
        opened_at=standing.opened_at,
        hit_at=standing.hit_at,
        longitude=standing.longitude,
        latitude=standing.latitude,
        hit_kind=standing.hit_kind,
        harvest_class=standing.harvest_class,
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        copy.save(force_insert=True)

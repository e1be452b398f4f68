"""An application reads which papers a property asks for before it books a client."""

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.land.models import Property
from tests.cast import NOW, make_property
from tests.scheduling.sits.stage import DAY

pytestmark = pytest.mark.django_db

CLIENT = {
    "reference": "C-17",
    "name": "Ada Long",
    "emergency_contact_name": "Bo Long",
    "emergency_contact_phone": "555-0199",
}


def asked(client, land):
    return client.get(f"/api/v1/properties/{land.id}/").json()


def test_an_application_reads_the_papers_of_a_property_shared_with_it(cast):
    cast.cooperative.settings = {"sits": {"required_papers": ["licence", "hunter_education"]}}
    cast.cooperative.save()
    cast.north.settings = {"sits": {"required_guest_papers": ["waiver"]}}
    cast.north.save()

    told = asked(cast.application_client(), cast.north)

    assert told["required_papers"] == ["hunter_education", "licence"]
    assert told["required_guest_papers"] == ["waiver"]
    assert told["settings"] == {}
    assert cast.application_client().get(f"/api/v1/properties/{cast.south.id}/").status_code == 404


def test_a_client_with_the_papers_named_is_booked_and_one_without_is_refused(stage):
    Property.objects.filter(id=stage.cast.north.id).update(
        settings={"sits": {"required_papers": ["licence", "hunter_education"]}}
    )
    api = stage.cast.application_client()
    kinds = asked(api, stage.cast.north)["required_papers"]

    def book(papers, key):
        body = {
            "stand": str(stage.oak.id),
            "local_date": DAY.isoformat(),
            "span": "evening",
            "client": {**CLIENT, "papers": [{"kind": kind} for kind in papers]},
        }
        return api.post("/api/v1/sits/", body, format="json", headers={"Idempotency-Key": key})

    with time_machine.travel(NOW, tick=False):
        refused = book(kinds[1:], "one")
        booked = book(kinds, "two")

    assert [one["code"] for one in refused.json()["refusals"]] == ["paper_missing"]
    assert booked.status_code == 201


def test_every_caller_reads_the_same_papers_and_none_of_them_can_be_written(cast):
    url = f"/api/v1/properties/{cast.north.id}/"
    told = [asked(cast.client(who), cast.north) for who in (cast.member, cast.landowner)]
    assert told[0]["required_papers"] == told[1]["required_papers"] == ["licence", "waiver"]

    manager = cast.client(cast.manager)
    tag = manager.get(url).headers["ETag"]
    manager.patch(url, {"required_papers": []}, format="json", headers={"If-Match": tag})

    assert asked(manager, cast.north)["required_papers"] == ["licence", "waiver"]


def test_a_list_of_properties_asks_the_database_as_often_for_many_as_for_one(cast):
    client = cast.client(cast.coordinator)

    def listed():
        with CaptureQueriesContext(connection) as queries:
            rows = client.get("/api/v1/properties/?page_size=100").json()["results"]
        assert all(row["required_papers"] == ["licence", "waiver"] for row in rows)
        return len(rows), len(queries)

    listed()  # a process's first answer asks once more
    few, asked_of_few = listed()
    for number in range(10):
        make_property(cast.cooperative, f"Field {number}", -91.0 + number / 10, 43.0)
    many, asked_of_many = listed()

    assert many == few + 10
    assert asked_of_many == asked_of_few

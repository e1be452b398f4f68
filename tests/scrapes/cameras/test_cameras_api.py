"""Camera units, deployments, outages and signs of life over HTTP."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from coop.access.actors import system_actor
from coop.audit.models import AuditEvent
from scrapes.cameras import deployment_services, guards
from scrapes.cameras.models import CameraStatus, CameraUnit, Deployment, Outage
from tests.cast import NOW
from tests.scrapes.sites.places import HUNG_AT, make_camera, make_deployment, make_scrape

CAMERAS = "/api/v1/cameras/"
DEPLOYMENTS = "/api/v1/deployments/"
OUTAGES = "/api/v1/outages/"
STATUSES = "/api/v1/camera-statuses/"


@pytest.fixture
def guarded(db):
    """The guards of the database, also where tests run without migrations."""
    with connection.cursor() as cursor:
        for statement in guards.REMOVE[connection.vendor] + guards.INSTALL[connection.vendor]:
            cursor.execute(statement)


@pytest.fixture
def hung(cast):
    """A camera that hangs at a scrape of the northern property."""
    return make_deployment(make_camera(cast.north), make_scrape(cast.north))


def test_a_manager_adds_a_camera_changes_it_and_retires_it(cast):
    client = cast.client(cast.manager)
    made = client.post(CAMERAS, {"property": cast.north.id, "name": "Seven"}, format="json")
    url = f"{CAMERAS}{made.data['id']}/"
    changed = client.patch(url, {"transmits": True}, format="json", HTTP_IF_MATCH=made["ETag"])
    late = client.patch(url, {"transmits": False}, format="json", HTTP_IF_MATCH=made["ETag"])
    retired = client.post(f"{url}retire/")

    assert (made.status_code, changed.status_code, late.status_code) == (201, 200, 412)
    assert retired.data["retired_at"] is not None
    assert retired.data["transmits"] is True
    assert AuditEvent.objects.filter(object_id=made.data["id"]).count() == 3


def test_a_camera_that_hangs_is_not_retired(cast, hung):
    answer = cast.client(cast.manager).post(f"{CAMERAS}{hung.camera_id}/retire/")

    assert (answer.status_code, answer.data["code"]) == (409, "camera_is_hanging")
    assert CameraUnit.objects.get().retired_at is None


@pytest.mark.parametrize("who", ["member", "other_member", "landowner", "stranger"])
def test_nobody_but_managers_and_coordinators_knows_of_cameras(cast, hung, who):
    Outage.objects.create(deployment=hung, kind="dead", starts_at=NOW)
    CameraStatus.objects.create(camera=hung.camera, reported_at=NOW)
    client = cast.client(getattr(cast, who))

    for url in (CAMERAS, DEPLOYMENTS, OUTAGES, STATUSES):
        assert client.get(url).data["results"] == []
    assert client.get(f"{CAMERAS}{hung.camera_id}/").status_code == 404
    assert client.get(f"{CAMERAS}{hung.camera_id}/health/").status_code == 404
    assert client.get(f"{DEPLOYMENTS}{hung.id}/").status_code == 404
    assert client.post(f"{DEPLOYMENTS}{hung.id}/take-down/").status_code == 404
    status = client.post(STATUSES, {"camera": hung.camera_id}, format="json")
    assert status.status_code == 400
    assert Deployment.objects.get().ends_at is None
    assert CameraStatus.objects.count() == 1


def test_a_member_may_not_add_a_camera(cast):
    answer = cast.client(cast.member).post(
        CAMERAS, {"property": cast.north.id, "name": "Mine"}, format="json"
    )

    assert answer.status_code == 403
    assert not CameraUnit.objects.exists()


def test_a_camera_hangs_at_its_scrape_where_no_other_place_is_told(cast):
    camera, scrape = make_camera(cast.north), make_scrape(cast.north)
    answer = cast.client(cast.manager).post(
        DEPLOYMENTS,
        {"camera": camera.id, "scrape": scrape.id, "starts_at": HUNG_AT, "heading_deg": 20},
        format="json",
    )

    assert answer.status_code == 201, answer.data
    assert answer.data["geometry"]["coordinates"] == [scrape.longitude, scrape.latitude]
    assert answer.data["ends_at"] is None


def test_a_camera_that_hangs_elsewhere_is_refused_with_a_code_and_the_place(cast, hung):
    other = make_scrape(cast.north, "Far oak", east=0.002)
    answer = cast.client(cast.manager).post(
        DEPLOYMENTS,
        {"camera": hung.camera_id, "scrape": other.id, "starts_at": NOW},
        format="json",
    )

    assert (answer.status_code, answer.data["code"]) == (409, "deployments_overlap")
    assert answer.data["deployment"] == str(hung.id)
    assert "Bench oak" in answer.data["detail"]
    assert Deployment.objects.count() == 1


def test_the_database_itself_refuses_deployments_that_overlap(cast, guarded, hung):
    with pytest.raises(IntegrityError), transaction.atomic():
        make_deployment(hung.camera, hung.scrape, starts_at=NOW)
    Deployment.objects.filter(id=hung.id).update(ends_at=NOW)
    again = make_deployment(hung.camera, hung.scrape, starts_at=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        Deployment.objects.filter(id=again.id).update(starts_at=NOW - timedelta(seconds=1))

    assert Deployment.objects.count() == 2


def test_an_overlap_that_only_the_database_sees_gets_the_same_code(
    cast, guarded, hung, monkeypatch
):
    monkeypatch.setattr(deployment_services, "_check_free", lambda deployment: None)

    with pytest.raises(deployment_services.DeploymentsOverlap) as caught:
        deployment_services.hang_camera(
            actor=system_actor("test"),
            camera=hung.camera,
            scrape=hung.scrape,
            fields={"starts_at": NOW},
            now=NOW,
        )

    assert caught.value.code == "deployments_overlap"
    assert Deployment.objects.count() == 1


def test_moving_a_camera_closes_one_deployment_and_opens_the_next_in_the_same_instant(cast, hung):
    other = make_scrape(cast.north, "Far oak", east=0.002)
    answer = cast.client(cast.manager).post(
        f"{DEPLOYMENTS}{hung.id}/move/", {"scrape": other.id, "at": NOW}, format="json"
    )

    assert answer.status_code == 201, answer.data
    hung.refresh_from_db()
    new = Deployment.objects.get(id=answer.data["id"])
    assert hung.ends_at == new.starts_at == NOW
    assert (new.scrape_id, new.camera_id) == (other.id, hung.camera_id)
    assert new.longitude == other.longitude


def test_a_move_that_cannot_be_leaves_the_camera_hanging(cast, hung):
    south = make_scrape(cast.south, "South oak")
    answer = cast.client(cast.coordinator).post(
        f"{DEPLOYMENTS}{hung.id}/move/", {"scrape": south.id, "at": NOW}, format="json"
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/scrape"
    hung.refresh_from_db()
    assert hung.ends_at is None


def test_a_camera_is_taken_down_once_and_not_before_it_was_hung(cast, hung):
    client = cast.client(cast.manager)
    url = f"{DEPLOYMENTS}{hung.id}/take-down/"
    early = client.post(url, {"at": HUNG_AT - timedelta(days=1)}, format="json")
    down = client.post(url, {"at": NOW}, format="json")
    again = client.post(url, {"at": NOW}, format="json")

    assert (early.status_code, down.status_code, again.status_code) == (400, 200, 409)
    assert again.data["code"] == "not_hanging"


def test_a_correction_may_not_make_deployments_overlap(cast, hung):
    Deployment.objects.filter(id=hung.id).update(ends_at=NOW)
    later = make_deployment(hung.camera, hung.scrape, starts_at=NOW)
    answer = cast.client(cast.manager).patch(
        f"{DEPLOYMENTS}{later.id}/",
        {"starts_at": NOW - timedelta(hours=1)},
        format="json",
        HTTP_IF_MATCH='"1"',
    )

    assert (answer.status_code, answer.data["code"]) == (409, "deployments_overlap")


def test_a_code_means_one_deployment_on_a_property(cast, hung):
    Deployment.objects.filter(id=hung.id).update(code="d1")
    answer = cast.client(cast.manager).post(
        DEPLOYMENTS,
        {
            "camera": make_camera(cast.north, "Other").id,
            "scrape": hung.scrape_id,
            "starts_at": NOW,
            "code": "d1",
        },
        format="json",
    )

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/code"


def test_an_outage_lies_within_its_deployment_and_may_have_no_end(cast, hung):
    client = cast.client(cast.manager)
    told = {"deployment": hung.id, "kind": "dead", "estimated": True}
    early = client.post(OUTAGES, {**told, "starts_at": HUNG_AT - timedelta(days=1)}, format="json")
    made = client.post(OUTAGES, {**told, "starts_at": NOW}, format="json")
    url = f"{OUTAGES}{made.data['id']}/"
    ended = client.patch(
        url, {"ends_at": NOW + timedelta(days=1)}, format="json", HTTP_IF_MATCH=made["ETag"]
    )
    backwards = client.patch(url, {"ends_at": HUNG_AT}, format="json", HTTP_IF_MATCH=ended["ETag"])

    assert (early.status_code, made.status_code, ended.status_code) == (400, 201, 200)
    assert backwards.status_code == 400
    assert Outage.objects.get().ends_at == NOW + timedelta(days=1)


def test_a_card_pulled_is_kept_and_nothing_from_the_future_is(cast, hung):
    client = cast.client(cast.manager)
    told = {"camera": hung.camera_id, "card_pulled": True, "battery_pct": 62}
    made = client.post(STATUSES, {**told, "reported_at": NOW}, format="json")
    twice = client.post(STATUSES, {**told, "reported_at": NOW}, format="json")
    future = client.post(STATUSES, {**told, "reported_at": "2999-01-01T00:00:00Z"}, format="json")
    beyond = client.post(STATUSES, {**told, "battery_pct": 162}, format="json")

    assert made.status_code == 201
    assert [twice.status_code, future.status_code, beyond.status_code] == [400, 400, 400]
    assert CameraStatus.objects.get().battery_pct == 62


def test_cameras_are_found_by_where_they_hang(cast, hung):
    make_camera(cast.north, "Spare")
    client = cast.client(cast.manager)

    found = client.get(CAMERAS, {"hanging_at": hung.scrape_id}).data["results"]
    assert [row["name"] for row in found] == ["Camera 1"]
    assert len(client.get(DEPLOYMENTS, {"hanging": "true"}).data["results"]) == 1
    assert client.get(DEPLOYMENTS, {"hanging": "false"}).data["results"] == []


def test_listing_deployments_asks_as_often_for_many_as_for_one(
    cast, hung, django_assert_max_num_queries
):
    for number in range(10):
        make_deployment(make_camera(cast.north, f"Camera {number + 2}"), hung.scrape)
    client = cast.client(cast.manager)

    with django_assert_max_num_queries(8):
        assert len(client.get(DEPLOYMENTS).data["results"]) == 11

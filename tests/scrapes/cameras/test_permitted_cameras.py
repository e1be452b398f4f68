"""A camera hangs where regulations and the lease let it: refused with a code and a sentence."""

from datetime import date, timedelta

import pytest

from scrapes.cameras.models import CameraUnit, Deployment
from tests.cast import NOW
from tests.properties.leases.plots import leased
from tests.properties.regulations.entries import entered
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

DEPLOYMENTS = "/api/v1/deployments/"
LONG = {"last_on": date(2050, 7, 31)}


def camera_of(cast, *, transmits, name="Ridge cam"):
    camera = make_camera(cast.north, name)
    CameraUnit.objects.filter(id=camera.id).update(transmits=transmits)
    return CameraUnit.objects.get(id=camera.id)


def hung(cast, camera, scrape, starts_at=NOW, **more):
    return cast.client(cast.manager).post(
        DEPLOYMENTS,
        {"camera": camera.id, "scrape": scrape.id, "starts_at": starts_at, **more},
        format="json",
    )


@pytest.mark.parametrize("by_lease", [True, False])
def test_a_camera_that_sends_is_refused_and_one_that_does_not_hangs(cast, by_lease):
    if by_lease:
        leased(cast, cameras="not_transmitting", **LONG)
    else:
        entered(cast, "cameras", {"cameras": "not_transmitting"})
    scrape = make_scrape(cast.north)

    refused = hung(cast, camera_of(cast, transmits=True), scrape)
    allowed = hung(cast, camera_of(cast, transmits=False, name="Card cam"), scrape)

    assert (refused.status_code, allowed.status_code) == (409, 201)
    (refusal,) = refused.data["refusals"]
    assert refusal["code"] == "camera_not_permitted"
    assert "sends its pictures" in refusal["sentence"]
    assert Deployment.objects.count() == 1


def test_without_lease_or_regulation_every_camera_hangs(cast):
    answer = hung(cast, camera_of(cast, transmits=True), make_scrape(cast.north))

    assert answer.status_code == 201


def test_a_camera_that_hangs_does_not_begin_to_send_where_that_is_forbidden(cast):
    camera = camera_of(cast, transmits=False)
    make_deployment(camera, make_scrape(cast.north), starts_at=NOW - timedelta(days=9))
    entered(cast, "cameras", {"cameras": "not_transmitting"})
    client = cast.client(cast.manager)
    url = f"/api/v1/cameras/{camera.id}/"

    refused = client.patch(url, {"transmits": True}, format="json", HTTP_IF_MATCH="*")
    renamed = client.patch(url, {"name": "Other"}, format="json", HTTP_IF_MATCH="*")

    assert (refused.status_code, renamed.status_code) == (409, 200)
    assert refused.data["refusals"][0]["code"] == "camera_not_permitted"


def test_what_hung_and_was_taken_down_before_the_rule_began_is_recorded(cast):
    entered(cast, "cameras", {"cameras": "none"}, first_on=date(2025, 10, 15))
    camera, scrape = camera_of(cast, transmits=True), make_scrape(cast.north)

    over = hung(
        cast,
        camera,
        scrape,
        starts_at=NOW - timedelta(days=40),
        ends_at=NOW - timedelta(days=30),
    )
    still = hung(cast, camera, scrape, starts_at=NOW - timedelta(days=25))

    assert (over.status_code, still.status_code) == (201, 409)


def test_moving_a_camera_that_may_not_hang_leaves_it_where_it_is(cast):
    camera = camera_of(cast, transmits=True)
    deployment = make_deployment(camera, make_scrape(cast.north), starts_at=NOW - timedelta(days=9))
    entered(cast, "cameras", {"cameras": "not_transmitting"})
    other = make_scrape(cast.north, "Far oak", east=0.002)

    answer = cast.client(cast.manager).post(
        f"{DEPLOYMENTS}{deployment.id}/move/", {"scrape": other.id}, format="json"
    )

    assert answer.status_code == 409
    deployment.refresh_from_db()
    assert deployment.ends_at is None

"""Sits in a file: made by a job, with what its asker sees, for nobody else, for a week."""

import csv
import io
import json
from datetime import timedelta
from uuid import UUID

import pytest
from django.core.files.storage import default_storage

from coop.access.roles import Role
from coop.jobs.services import run_job
from properties.people.models import PropertyShare, RoleGrant
from scheduling.sits.models import Sit
from scheduling.sync.export_jobs import KEPT, remove_old_files
from scheduling.sync.export_kinds import SITS
from tests.cast import NOW, grant
from tests.scheduling.sits.stage import DAY, booked, booked_for_client
from tests.scheduling.sync.following import listed

pytestmark = pytest.mark.usefixtures("at_now")
EXPORTS = "/api/v1/sit-exports/"


@pytest.fixture(autouse=True)
def _files_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)


def asked(client, stage, **changes):
    body = {"property": str(stage.cast.north.id), "first_on": "2025-11-01", "last_on": "2025-11-30"}
    answer = client.post(EXPORTS, body | changes, format="json")
    assert answer.status_code == 202, answer.data
    return answer["Location"]


def made(client, stage, **changes):
    """The address of a file that is done, and its content."""
    place = asked(client, stage, **changes)
    run_job(run_id=UUID(place.split("/")[-2]), now=NOW)
    told = client.get(place).json()
    assert (told["state"], told["progress_pct"]) == ("done", 100)
    return told["file"], client.get(told["file"]).getvalue().decode()


def test_lines_of_json_are_the_rows_of_the_list(stage):
    booked(stage), booked(stage, stage.ben, stage.creek)
    manager = stage.cast.client(stage.cast.manager)
    _file, text = made(manager, stage, format="jsonl")

    rows = {row["id"]: row for row in map(json.loads, text.splitlines())}
    assert rows == listed(manager)
    assert len(rows) == 2


def test_a_table_has_the_members_of_the_list_and_no_formula(stage):
    sit = booked(stage)
    Sit.objects.update(overrule_reason="=HYPERLINK()", sector_per_mille=[1000, 0])
    member = stage.cast.client(stage.cast.member)
    _file, text = made(member, stage)

    (row,) = csv.DictReader(io.StringIO(text))
    told = listed(member)[str(sit.id)]
    assert list(row) == list(told)
    assert row["starts_at"] == told["starts_at"]
    assert row["overrule_reason"] == "'=HYPERLINK()"
    assert row["sector_per_mille"] == "[1000,0]"
    assert row["host"] == ""


def test_the_days_are_included_and_others_left_out(stage):
    booked(stage)
    manager = stage.cast.client(stage.cast.manager)
    inside = {"first_on": str(DAY), "last_on": str(DAY), "format": "jsonl"}
    before = {"first_on": "2025-11-01", "last_on": str(DAY - timedelta(days=1)), "format": "jsonl"}

    assert len(made(manager, stage, **inside)[1].splitlines()) == 1
    assert made(manager, stage, **before)[1] == ""


def test_everybody_gets_what_they_see_and_nobody_anothers_file(stage):
    booked(stage), booked_for_client(stage, day=DAY + timedelta(days=1))
    cast = stage.cast
    callers = {
        "manager": (cast.client(cast.manager), 2),
        "member": (cast.client(cast.member), 1),
        "other": (cast.client(stage.ben), 0),
        "application": (cast.application_client("offers sits"), 1),
    }
    for name, (client, count) in callers.items():
        file, text = made(client, stage, format="jsonl")
        assert len(text.splitlines()) == count, name
        for other, (stranger, _count) in callers.items():
            if other != name:
                assert stranger.get(file).status_code == 404, (name, other)
    landowner = cast.client(cast.landowner)
    body = {"property": str(cast.north.id), "first_on": "2025-11-01", "last_on": "2025-11-02"}
    assert landowner.post(EXPORTS, body, format="json").status_code == 403


def test_a_file_goes_with_the_right_to_read_what_is_in_it(stage):
    booked(stage, stage.ben)
    role = grant(stage.cast.member, Role.MANAGER, stage.cast.north)
    member, outfitter = (
        stage.cast.client(stage.cast.member),
        stage.cast.application_client("offers sits"),
    )
    as_manager, _text = made(member, stage)
    as_outfitter, _text = made(outfitter, stage)
    assert member.get(as_manager).status_code == 200
    RoleGrant.objects.filter(id=role.id).update(revoked_at=NOW)
    PropertyShare.objects.update(revoked_at=NOW)

    assert member.get(as_manager).status_code == 404
    assert outfitter.get(as_outfitter).status_code == 404


def test_a_file_is_not_there_before_it_is_made_nor_after_its_week(stage, at_now):
    manager = stage.cast.client(stage.cast.manager)
    place = asked(manager, stage)
    assert manager.get(place).json()["file"] is None
    assert manager.get(f"{place}file/").status_code == 404
    file, _text = made(manager, stage)
    at_now.shift(KEPT)

    assert manager.get(file).status_code == 404


def test_old_files_are_removed_and_young_ones_kept(stage):
    made(stage.cast.client(stage.cast.manager), stage)
    (kept,) = default_storage.listdir(SITS.address)[1]
    made_at = default_storage.get_modified_time(f"{SITS.address}/{kept}")

    assert remove_old_files(now=made_at + KEPT) == 0
    assert remove_old_files(now=made_at + KEPT + timedelta(seconds=1)) == 1
    assert default_storage.listdir(SITS.address)[1] == []


def test_a_range_out_of_order_or_too_long_is_bad_input(stage):
    manager = stage.cast.client(stage.cast.manager)
    for last_on in ("2025-10-01", "2035-01-01"):
        body = {"property": str(stage.cast.north.id), "first_on": "2025-11-01", "last_on": last_on}
        assert manager.post(EXPORTS, body, format="json").status_code == 400


def test_an_application_that_may_only_read_sits_gets_its_own_and_nothing_of_the_land(stage):
    booked(stage), booked_for_client(stage, day=DAY + timedelta(days=1))
    client = stage.cast.application_client("sits")
    assert client.get("/api/v1/properties/").json()["results"] == []

    _file, text = made(client, stage, format="jsonl")

    (row,) = map(json.loads, text.splitlines())
    assert row["local_date"] == str(DAY + timedelta(days=1))
    body = {"first_on": "2025-11-01", "last_on": "2025-11-02"}
    for land in (stage.cast.south, stage.cast.foreign):
        answer = client.post(EXPORTS, {**body, "property": str(land.id)}, format="json")
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["pointer"] == "#/property"


def test_an_application_that_may_not_read_sits_gets_no_file_of_them(stage):
    booked_for_client(stage, day=DAY)
    body = {"property": str(stage.cast.north.id), "first_on": "2025-11-01", "last_on": "2025-11-30"}

    for scopes, status in (("offers", 403), ("webhooks", 400)):
        client = stage.cast.application_client(scopes)
        assert client.post(EXPORTS, body, format="json").status_code == status, scopes


def test_whoever_becomes_a_manager_meanwhile_gets_what_they_asked_for(stage):
    booked(stage), booked(stage, stage.ben, stage.creek)
    member = stage.cast.client(stage.cast.member)
    place = asked(member, stage, format="jsonl")
    grant(stage.cast.member, Role.MANAGER, stage.cast.north)

    run_job(run_id=UUID(place.split("/")[-2]), now=NOW)

    assert member.get(place).json()["sits"] == 1

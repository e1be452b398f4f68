"""Deer taken in a file: as the list tells them to whoever asked, and no more."""

import csv
import io
import json
from datetime import UTC, datetime
from uuid import UUID

import pytest

from coop.access.roles import Role
from coop.jobs.services import run_job
from properties.people.models import RoleGrant
from scheduling.sits.models import Harvest
from scheduling.sync.export_jobs import remove_old_files
from tests.cast import NOW, grant

pytestmark = pytest.mark.usefixtures("at_now")
EXPORTS = "/api/v1/harvest-exports/"
HARVESTS = "/api/v1/harvests/?page_size=100"


@pytest.fixture(autouse=True)
def _files_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def deer(stage):
    """A buck of Ben's and a doe of the member's, as much as may be known of each."""
    known = {
        "longitude": -91.5,
        "latitude": 43.3,
        "sample_number": "S-7",
        "check_number": "C-7",
        "individual": "Split G2",
        "notes": "=HYPERLINK()",
    }
    return [
        Harvest.objects.create(
            property=stage.cast.north,
            person=person,
            harvest_class=harvest_class,
            taken_at=datetime(2025, 11, 8, 23, 30, tzinfo=UTC),
            **known,
        )
        for person, harvest_class in (
            (stage.ben, "antlered"),
            (stage.cast.member, "antlerless"),
        )
    ]


def ask(client, stage, **changes):
    body = {"property": str(stage.cast.north.id), "first_on": "2025-11-01", "last_on": "2025-11-30"}
    return client.post(EXPORTS, body | changes, format="json")


def made(client, stage, **changes):
    """The address of a file that is done, and its content."""
    answer = ask(client, stage, **changes)
    assert answer.status_code == 202, answer.data
    run_job(run_id=UUID(answer["Location"].split("/")[-2]), now=NOW)
    told = client.get(answer["Location"]).json()
    assert told["state"] == "done"
    file = client.get(told["file"])
    return told["file"], file.getvalue().decode()


def test_everybody_gets_the_rows_that_their_list_shows_them(stage, deer):
    cast = stage.cast
    for person in (cast.manager, cast.coordinator, cast.member, cast.landowner):
        client = cast.client(person)
        _file, text = made(client, stage, format="jsonl")

        rows = {row["id"]: row for row in map(json.loads, text.splitlines())}
        assert rows == {row["id"]: row for row in client.get(HARVESTS).json()["results"]}
        assert len(rows) == 2


def test_a_members_file_tells_no_place_name_or_number_of_anothers_deer(stage, deer):
    buck, doe = (str(one.id) for one in deer)
    _file, text = made(stage.cast.client(stage.cast.member), stage, format="jsonl")

    rows = {row["id"]: row for row in map(json.loads, text.splitlines())}
    hidden = ("place", "person", "sit", "tag", "individual")
    assert [rows[buck][name] for name in hidden] == [None] * len(hidden)
    assert (rows[buck]["sample_number"], rows[buck]["notes"]) == ("", "")
    assert rows[doe]["place"] == {"type": "Point", "coordinates": [-91.5, 43.3]}
    assert rows[doe]["sample_number"] == "S-7"


def test_a_table_has_the_members_of_the_list_a_place_as_json_and_no_formula(stage, deer):
    manager = stage.cast.client(stage.cast.manager)
    file, text = made(manager, stage)

    (first, _second) = csv.DictReader(io.StringIO(text))
    told = manager.get(HARVESTS).json()["results"][0]
    assert list(first) == list(told)
    assert json.loads(first["place"]) == told["place"]
    assert first["notes"] == "'=HYPERLINK()"
    answer = manager.get(file)
    assert 'filename="harvests-2025-11-01-2025-11-30.csv"' in answer["Content-Disposition"]


def test_days_are_those_of_the_property_and_included(stage):
    """The clocks of the north are six hours behind UTC in November."""
    for hour in (5, 6):
        Harvest.objects.create(
            property=stage.cast.north,
            person=stage.ben,
            harvest_class="antlerless",
            taken_at=datetime(2025, 11, 8, hour, 30, tzinfo=UTC),
        )
    manager = stage.cast.client(stage.cast.manager)

    def taken(day):
        _file, text = made(manager, stage, first_on=day, last_on=day, format="jsonl")
        return [json.loads(line)["taken_at"] for line in text.splitlines()]

    assert taken("2025-11-07") == ["2025-11-07T23:30:00-06:00"]
    assert taken("2025-11-08") == ["2025-11-08T00:30:00-06:00"]
    assert taken("2025-11-09") == []


def test_no_deer_of_another_property_is_in_it(stage, deer):
    Harvest.objects.update(property=stage.cast.south)

    _file, text = made(stage.cast.client(stage.cast.coordinator), stage, format="jsonl")

    assert text == ""


def test_who_reads_no_harvest_gets_no_file_and_nobody_anothers(stage, deer):
    cast = stage.cast
    file, _text = made(cast.client(cast.manager), stage)
    for stranger in (cast.member, cast.landowner, cast.coordinator):
        assert cast.client(stranger).get(file).status_code == 404
    assert ask(cast.application_client("offers sits webhooks"), stage).status_code == 403
    assert ask(cast.application_client("sits"), stage).status_code == 400
    # The machinery is shared, the files are not.
    assert cast.client(cast.manager).get(file.replace("harvest", "sit")).status_code == 404


def test_a_managers_file_goes_with_the_role_that_showed_what_is_in_it(stage, deer):
    member = stage.cast.client(stage.cast.member)
    own, _text = made(member, stage)
    role = grant(stage.cast.member, Role.MANAGER, stage.cast.north)
    as_manager, _text = made(member, stage)
    assert member.get(as_manager).status_code == 200

    RoleGrant.objects.filter(id=role.id).update(revoked_at=NOW)

    assert member.get(as_manager).status_code == 404
    assert member.get(own).status_code == 200


def test_whoever_becomes_a_manager_meanwhile_gets_what_they_asked_for(stage, deer):
    member = stage.cast.client(stage.cast.member)
    place = ask(member, stage, format="jsonl")["Location"]
    grant(stage.cast.member, Role.MANAGER, stage.cast.north)
    run_job(run_id=UUID(place.split("/")[-2]), now=NOW)

    told = member.get(place).json()
    rows = map(json.loads, member.get(told["file"]).getvalue().decode().splitlines())

    assert told["harvests"] == 2
    assert [row["place"] for row in rows if row["person"] is None] == [None]


def test_old_files_of_deer_are_removed_too(stage, deer):
    made(stage.cast.client(stage.cast.manager), stage)

    assert remove_old_files(now=datetime(2100, 1, 1, tzinfo=UTC)) == 1

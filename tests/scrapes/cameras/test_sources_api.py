"""Mappings of tables are kept for each source and used by the imports that name it."""

from datetime import UTC, datetime

import pytest

from coop.access.actors import system_actor
from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations
from scrapes.cameras.models import Observation, ObservationSource
from tests.cast import NOW
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

URL = "/api/v1/observation-sources/"
COLUMNS = {"instant": "Date", "zone": "America/Chicago", "deployment": "Camera"}


def keep(cast, who="manager", **fields):
    body = {"property": cast.north.id, "name": "tagging sheet", "columns": COLUMNS, **fields}
    return cast.client(getattr(cast, who)).post(URL, body, format="json")


def test_an_import_that_names_the_source_reads_by_its_mapping(cast, tmp_path):
    assert keep(cast).status_code == 201
    make_deployment(make_camera(cast.north, "C-1"), make_scrape(cast.north))
    place = tmp_path / "sheet.csv"
    place.write_text("Date,Camera\n2025-10-10 06:00:00,C-1\n")
    import_observations(
        actor=system_actor("test"),
        land=cast.north,
        request=ImportRequest(
            place=place, file_name="sheet.csv", format=ImportFormat.CSV, source="tagging sheet"
        ),
        now=NOW,
    )

    assert Observation.objects.get().observed_at == datetime(2025, 10, 10, 11, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "columns", [{"instant": "Date"}, {**COLUMNS, "zone": "Mars/Olympus"}, {**COLUMNS, "x": "y"}, []]
)
def test_a_mapping_that_means_nothing_is_not_kept(cast, columns):
    answer = keep(cast, columns=columns)

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/columns"
    assert not ObservationSource.objects.exists()


def test_a_mapping_is_changed_by_who_read_it_last(cast):
    made = keep(cast)
    url = f"{URL}{made.data['id']}/"
    client = cast.client(cast.manager)
    changed = client.patch(
        url, {"columns": {**COLUMNS, "kind": "What"}}, format="json", HTTP_IF_MATCH=made["ETag"]
    )
    late = client.patch(url, {"name": "other"}, format="json", HTTP_IF_MATCH=made["ETag"])

    assert (changed.status_code, late.status_code) == (200, 412)
    assert client.get(url).data["columns"]["kind"] == "What"


def test_only_who_manages_the_property_keeps_and_sees_mappings(cast):
    made = keep(cast)

    assert keep(cast, "member", name="mine").status_code == 403
    assert keep(cast, "stranger", name="theirs").status_code == 400
    for who in ("member", "stranger", "landowner"):
        client = cast.client(getattr(cast, who))
        assert client.get(URL).data["results"] == []
        assert client.get(f"{URL}{made.data['id']}/").status_code == 404
    assert ObservationSource.objects.count() == 1

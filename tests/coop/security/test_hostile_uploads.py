"""Files that somebody made to do harm, sent to every address that takes a file.

Each is answered in the four hundreds, or taken by a job that ends failed; never by a five hundred,
and never is a part of it stored.
"""

import io
import json
import struct
import zipfile
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from drf_spectacular.generators import SchemaGenerator

from coop.jobs import runner
from coop.jobs.models import JobRun, JobState
from coop.outbox import services as outbox
from properties.incidents.models import Incident
from properties.land.models import Feature
from properties.obligations.models import Due
from properties.stands.models import Stand
from properties.wind.models import ForecastIssue, ObservedHour
from scrapes.cameras.models import Observation
from tests.cast import NOW

pytestmark = pytest.mark.django_db
MIB = 1024 * 1024
STORED = (Due, Feature, ForecastIssue, Observation, Stand, ObservedHour)


ENDED = {JobState.DONE, JobState.FAILED}


def zip_of(**members: bytes) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("_", "."), content)
    return held.getvalue()


def claiming_two_gigabytes() -> bytes:
    """A small archive whose directory says of its member that it unpacks to 2 GB."""
    honest = zip_of(datapackage_json=b"{}" * 100)
    at = honest.index(b"PK\x01\x02") + 24
    return honest[:at] + struct.pack("<I", 2**31 - 1) + honest[at + 4 :]


ENTITIES = b"""<?xml version="1.0"?>
<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;"><!ENTITY out SYSTEM "file:///etc/hostname">]>
<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="43" lon="-91">
<name>&c;&out;</name></wpt></gpx>"""

HOSTILE = {
    "nothing": b"",
    "only zeros": b"\x00" * 10_000,
    "a bomb": zip_of(datapackage_json=b" " * (40 * MIB), observations_csv=b"0" * (40 * MIB)),
    "an archive that claims 2 GB": claiming_two_gigabytes(),
    "an archive cut short": zip_of(datapackage_json=b"{}" * 100)[:-30],
    "an archive that climbs out": zip_of(**{"../../outside_txt": b"x"}),
    "entities": ENTITIES,
    "deep JSON": b"[" * 100_000,
    "deep objects": b'{"a":' * 100_000,
    "numbers that are none": b'{"type": "FeatureCollection", "features": [NaN, Infinity, -1e999]}',
    "a huge number": b'{"type": "FeatureCollection", "features": [' + b"9" * 100_000 + b"]}",
    "a huge cell": b"deployment,instant,kind\n" + b"9" * (2 * MIB) + b",x,y\n",
    "many columns": b",".join(b"c%d" % n for n in range(50_000)) + b"\n",
    "another encoding": "deployment,instant,kind\nD1,2025-11-01,deer\n".encode("utf-16"),
    "half a letter": b"deployment,instant,kind\nD1,\xc3\x28,\xff\xfe\n",
    "a line without an end": b'deployment,instant,kind\n"' + b"x\n" * 50_000,
    "a picture that is none": b"\x89PNG\r\n\x1a\n" + b"\xff" * 1000,
    "a paper that is none": b"%PDF-1.7\n" + b"\x00" * 1000,
}


def addresses() -> dict[str, dict[str, Any]]:
    """Every address that the description says takes a file."""
    paths = SchemaGenerator().get_schema(request=None, public=True)["paths"]
    return {
        path: operations["post"]
        for path, operations in paths.items()
        if "multipart/form-data"
        in operations.get("post", {}).get("requestBody", {}).get("content", {})
    }


@pytest.fixture
def asked(cast):
    """For each address, what is sent beside the file; several where the file may be read as
    several things."""
    north = str(cast.north.id)
    incident = Incident.objects.create(
        property=cast.north,
        kind="open_gate",
        happened_at=NOW,
        place_words="the north gate",
        what="It stood open.",
        reported_by=cast.coordinator,
    )
    weather = [{"property": north, "format": form} for form in ("gridpoint", "csv", "metar")]
    return {
        "/api/v1/properties/{id}/import/": (north, [{}]),
        "/api/v1/incidents/{id}/files/": (str(incident.id), [{}]),
        "/api/v1/bulk-entries/": (
            "",
            [
                {"cooperative": str(cast.cooperative.id), "kind": kind}
                for kind in ("papers", "dues", "work_days", "members")
            ],
        ),
        "/api/v1/observation-imports/": (
            "",
            [
                {"property": north, "format": form, "partial": "true"}
                for form in ("csv", "camtrap-dp")
            ],
        ),
        "/api/v1/forecasts/": ("", weather),
        "/api/v1/observed-hours/": ("", weather),
    }


def test_every_address_that_takes_a_file_is_tried(asked):
    assert set(addresses()) == set(asked)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_everywhere_and_leaves_nothing(cast, asked, name):
    client = cast.client(cast.coordinator)
    before = {model: model.objects.count() for model in STORED}

    for path, (identifier, forms) in asked.items():
        for form in forms:
            file = SimpleUploadedFile("upload.zip", HOSTILE[name])
            answer = client.post(
                path.replace("{id}", identifier), {**form, "file": file}, format="multipart"
            )
            said = (path, form, answer.status_code, str(answer.content[:300]))
            assert answer.status_code < 500, said
            assert answer.status_code in (202,) or _took_nothing(answer), said
    runner.drain_once(drain_outbox=lambda: outbox.drain(now=timezone.now()))

    runs = JobRun.objects.filter(name__contains="import")
    assert not [run.error for run in runs if run.state not in ENDED]
    assert {model: model.objects.count() for model in STORED} == before


def _took_nothing(answer: Any) -> bool:
    """Refused, or read with a reconciliation that says that no row of it was taken."""
    if answer.status_code >= 400:
        return answer.headers["Content-Type"] == "application/problem+json"
    told = json.loads(answer.content)
    return not told.get("taken") and not told.get("created") and not told.get("changed")

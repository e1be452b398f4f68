"""Uploads over HTTP become jobs; observations and imports are seen by those who manage."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from coop.jobs.models import JobRun
from coop.jobs.services import run_job
from properties.people.models import RoleGrant
from scrapes.cameras.models import Observation
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

from .packages import DEPLOYMENTS, in_zip, package_files

URL = "/api/v1/observation-imports/"
OBSERVATIONS = "/api/v1/observations/"
HUNG_AT = datetime(2025, 10, 1, tzinfo=UTC)
TABLE = (
    b"instant,deployment,observation_id,kind,species\n"
    b"2025-10-10T06:00:00Z,north,a1,animal,Odocoileus virginianus\n"
    b"2025-10-11T06:00:00Z,north,a2,human,\n"
)


@pytest.fixture(autouse=True)
def _uploads_in_a_folder_of_the_test(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture
def hung(cast):
    return make_deployment(
        make_camera(cast.north, "north"), make_scrape(cast.north), starts_at=HUNG_AT
    )


def upload(cast, who="manager", content=TABLE, name="card.csv", **fields):
    body = {"property": cast.north.id, "format": "csv", "file": SimpleUploadedFile(name, content)}
    return cast.client(getattr(cast, who)).post(URL, {**body, **fields}, format="multipart")


def finished(answer):
    assert answer.status_code == 202, answer.data
    run = run_job(run_id=answer.data["job"], now=timezone.now())
    assert (run.state, run.error) == ("done", "")
    return run.result


def test_pictures_outside_a_deployments_time_are_told_by_the_clock_of_the_property(cast, hung):
    early = (
        TABLE + b"2025-09-30T06:00:00Z,north,a3,animal,\n2025-09-30T07:00:00Z,north,a4,animal,\n"
    )
    result = finished(upload(cast, content=early, partial="true"))
    detail = cast.client(cast.manager).get(f"{URL}{result['import']}/").json()

    assert detail["outside_times"] == {
        str(hung.id): {
            "rows": 2,
            "first_at": "2025-09-30T01:00:00-05:00",
            "last_at": "2025-09-30T02:00:00-05:00",
        }
    }


def test_an_upload_is_imported_by_a_job_in_the_callers_name(cast, hung):
    answer = upload(cast)
    result = finished(answer)

    assert answer["Location"] == f"/api/v1/jobs/{answer.data['job']}/"
    assert (result["outcome"], result["read"], result["taken"]) == ("imported", 2, 2)
    client = cast.client(cast.manager)
    detail = client.get(f"{URL}{result['import']}/").data
    assert (detail["file_name"], detail["rows_taken"], detail["skipped"]) == ("card.csv", 2, [])
    history = cast.client(cast.coordinator).get("/api/v1/audit-events/").data["results"]
    assert history[0]["actor_name"] == "Max Manager"


def test_the_same_upload_again_adds_nothing_and_says_so(cast, hung):
    finished(upload(cast))
    result = finished(upload(cast, name="copy.csv"))

    assert (result["outcome"], result["taken"], result["held_already"]) == ("held_already", 0, 2)
    assert Observation.objects.count() == 2


@pytest.mark.parametrize("cell", [b"2025-10-10", b"north", b"a1", b"animal", b"Odocoileus"])
def test_a_table_with_a_nul_in_any_cell_is_refused_as_no_text(cast, hung, cell):
    result = finished(upload(cast, content=TABLE.replace(cell, cell + b"\0", 1), partial="true"))

    assert (result["outcome"], result["code"], result["taken"]) == (
        "refused",
        "encoding_invalid",
        0,
    )


def test_a_refused_file_is_an_answer_that_names_its_lines(cast, hung):
    result = finished(upload(cast, content=TABLE + b"never,north,a3,animal,\n"))

    assert (result["outcome"], result["code"], result["taken"]) == ("refused", "rows_refused", 0)
    run = JobRun.objects.get()
    assert (run.state, run.progress_note) == ("done", "refused: rows_refused; nothing was taken")
    assert result["tables"][0]["lines"][0]["line"] == 4
    assert not Observation.objects.exists()

    partial = finished(upload(cast, content=TABLE + b"never,north,a3,animal,\n", partial="true"))
    assert (partial["taken"], partial["tables"][0]["skipped"]) == (2, 1)


def test_a_part_of_which_nothing_is_left_is_refused_too(cast, hung):
    header = TABLE.split(b"\n")[0]
    result = finished(upload(cast, content=header + b"\nnever,north,a3,animal,\n", partial="true"))

    assert (result["outcome"], result["code"], result["taken"]) == ("refused", "rows_refused", 0)
    assert result["tables"][0]["lines"][0]["line"] == 2


def test_a_zipped_package_is_read_and_cameras_are_hung_where_asked(cast, tmp_path):
    make_scrape(cast.north)
    place = {"latitude": str(cast.north.latitude), "longitude": str(cast.north.longitude)}
    files = package_files(deployments=[row | place for row in DEPLOYMENTS])
    content = in_zip(tmp_path / "autumn.zip", files).read_bytes()
    result = finished(
        upload(cast, content=content, name="a.zip", format="camtrap-dp", create_missing="true")
    )

    assert (result["taken"], result["cameras_created"], result["set_aside"]) == (5, 2, 2)


def test_a_form_says_what_columns_mean_as_json_text(cast, hung):
    content = b"Date,Camera\n2025-10-10 06:00:00,C-1\n"
    result = finished(
        upload(
            cast,
            content=content,
            columns='{"instant": "Date", "deployment": "Camera"}',
            deployments=f'{{"C-1": "{hung.id}"}}',
            zone="America/Chicago",
        )
    )

    assert result["taken"] == 1
    assert Observation.objects.get().observed_at == datetime(2025, 10, 10, 11, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"columns": '{"instant": "Date"}'}, "#/columns"),
        ({"columns": "[1]"}, "#/columns"),
        ({"columns": "{"}, "#/columns"),
        ({"deployments": '{"C-1": "seven"}'}, "#/deployments"),
        ({"format": "xlsx"}, "#/format"),
    ],
)
def test_what_is_wrong_with_a_request_is_said_before_any_job(cast, hung, fields, pointer):
    answer = upload(cast, **fields)

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == pointer
    assert not JobRun.objects.exists()


def test_a_job_started_by_somebody_whose_role_ended_takes_nothing(cast, hung):
    answer = upload(cast)
    RoleGrant.objects.filter(person=cast.manager).delete()
    run = run_job(run_id=answer.data["job"], now=timezone.now())

    assert run.state != "done"
    assert not Observation.objects.exists()


def test_the_same_idempotency_key_starts_one_job(cast, hung):
    client = cast.client(cast.manager)
    body = {"property": cast.north.id, "format": "csv"}
    answers = [
        client.post(
            URL,
            {**body, "file": SimpleUploadedFile("card.csv", TABLE)},
            format="multipart",
            HTTP_IDEMPOTENCY_KEY="card-1",
        )
        for _time in range(2)
    ]

    assert [answer.status_code for answer in answers] == [202, 202]
    assert JobRun.objects.count() == 1


def test_uploads_are_removed_in_time(cast, hung, settings):
    finished(upload(cast))
    folder = settings.MEDIA_ROOT / "observation-imports" / str(cast.north.id)
    assert len(list(folder.iterdir())) == 1
    first = next(folder.iterdir())
    answer = upload(cast, name="later.csv")
    run = run_job(run_id=answer.data["job"], now=timezone.now() + timedelta(days=15))

    assert run.result["outcome"] == "held_already"
    assert not first.exists()
    assert len(list(folder.iterdir())) == 1


@pytest.mark.parametrize("who", ["member", "landowner"])
def test_who_belongs_but_does_not_manage_imports_nothing(cast, hung, who):
    assert upload(cast, who).status_code == 403
    assert not JobRun.objects.exists()


@pytest.mark.parametrize("who", ["stranger", "other_member"])
def test_to_strangers_the_property_does_not_exist(cast, hung, who):
    answer = upload(cast, who)

    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/property"


@pytest.mark.parametrize("who", ["member", "landowner", "stranger", "other_member"])
def test_observations_and_imports_are_hidden_from_all_who_do_not_manage(cast, hung, who):
    result = finished(upload(cast))
    client = cast.client(getattr(cast, who))

    assert client.get(OBSERVATIONS).data["results"] == []
    assert client.get(URL).data["results"] == []
    assert client.get(f"{URL}{result['import']}/").status_code == 404


def test_observations_are_found_by_place_kind_species_and_time(cast, hung):
    finished(upload(cast))
    client = cast.client(cast.manager)

    def found(**filters):
        answer = client.get(OBSERVATIONS, filters)
        assert answer.status_code == 200, answer.data
        return [row["source_key"] for row in answer.data["results"]]

    assert found() == ["a2", "a1"]
    assert found(kind="human") == ["a2"]
    assert found(species="odocoileus virginianus") == ["a1"]
    assert found(since="2025-10-11T00:00:00Z") == ["a2"]
    assert found(until="2025-10-11T00:00:00Z") == ["a1"]
    assert found(scrape=hung.scrape_id, deployment=hung.id) == ["a2", "a1"]
    assert found(scrape=hung.id) == []


def test_listing_observations_asks_as_often_for_many_as_for_one(
    cast, hung, django_assert_max_num_queries
):
    rows = b"".join(
        b"2025-10-12T%02d:00:00Z,north,b%d,animal,\n" % (hour, hour) for hour in range(20)
    )
    finished(upload(cast, content=TABLE + rows))
    client = cast.client(cast.manager)

    with django_assert_max_num_queries(8):
        assert len(client.get(OBSERVATIONS).data["results"]) == 22

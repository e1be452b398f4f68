"""Taking packages in: whose rows they are, what is refused, and that nothing enters twice."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import call_command
from django.db import connection

from coop.audit.models import AuditEvent
from coop.outbox.models import Fact
from scrapes.cameras.bulk_insert import COLUMNS
from scrapes.cameras.models import CameraUnit, Deployment, Observation, ObservationImport
from scrapes.cameras.observation_rows import ImportRefused, RowsRefused
from tests.properties.regulations.entries import entered
from tests.scrapes.cameras.taking_in import HUNG_AT, keys, sums, take
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

from .packages import DEPLOYMENTS, OBSERVATIONS, in_zip, observation, package_files


def test_a_packages_rows_go_to_our_deployments_by_code(cast, d1, d2, package):
    result = take(cast.north, package())

    assert sums(result.batch) == (7, 5, 0, 2, 0)
    assert (keys(d1), keys(d2)) == (["e1", "e2"], ["m3", "m4", "m5"])
    event = d1.observations.get(source_key="e1")
    assert event.observed_at == datetime(2025, 10, 20, 11, 0, tzinfo=UTC)
    assert event.ended_at - event.observed_at == timedelta(minutes=5)
    assert (event.kind, event.count, event.sex) == ("animal", 2, "female")
    picture = d2.observations.get(source_key="m3")
    assert (picture.ended_at, picture.count, picture.individual) == (None, None, "wide eight")
    fact = Fact.objects.get(topic="observations.imported")
    assert fact.ids == {"property": str(cast.north.id)}
    assert AuditEvent.objects.get(object_id=str(result.batch.id)).after["rows_taken"] == 5


def test_the_same_content_twice_adds_nothing_and_says_so(cast, d1, d2, package, tmp_path):
    first = take(cast.north, package())
    again = take(cast.north, package("copy"))
    place = {"latitude": str(cast.north.latitude), "longitude": str(cast.north.longitude)}
    files = package_files(deployments=[row | place for row in DEPLOYMENTS])
    zipped = take(cast.north, in_zip(tmp_path / "same.zip", files))

    assert [first.is_new, again.is_new, zipped.is_new] == [True, False, False]
    assert first.batch == again.batch == zipped.batch
    assert Observation.objects.count() == 5
    assert Fact.objects.filter(topic="observations.imported").count() == 1


def test_the_same_rows_in_another_file_are_held_already(cast, d1, d2, package):
    take(cast.north, package())
    more = [*OBSERVATIONS, observation("m6", "d2", "2025-11-03T07:00:00-06:00", "media")]
    result = take(cast.north, package("later", observations=more))

    assert sums(result.batch) == (8, 1, 5, 2, 0)
    assert Observation.objects.count() == 6


def test_an_id_that_meant_another_row_is_not_taken_for_held(cast, d1, d2, package):
    take(cast.north, package())
    moved = [dict(row) for row in OBSERVATIONS]
    moved[4] |= {"eventStart": "2025-10-22T18:00:00-05:00", "eventEnd": "2025-10-22T18:00:00-05:00"}

    with pytest.raises(RowsRefused) as caught:
        take(cast.north, package("other", observations=moved))

    assert caught.value.accounts[-1].skipped_by_code == {"id_reused": 1}
    assert Observation.objects.count() == 5


def test_with_faults_nothing_at_all_is_stored(cast, d1, d2, package):
    faulty = [dict(row) for row in OBSERVATIONS]
    faulty[6] |= {"eventStart": "yesterday"}

    with pytest.raises(RowsRefused) as caught:
        take(cast.north, package(observations=faulty))

    (line,) = caught.value.accounts[-1].skipped
    assert (line.line, line.code) == (8, "instant_invalid")
    assert not Observation.objects.exists()
    assert not ObservationImport.objects.exists()
    assert not Fact.objects.filter(topic="observations.imported").exists()


def test_partial_takes_the_good_rows_and_names_the_others(cast, d1, d2, package):
    faulty = [dict(row) for row in OBSERVATIONS]
    faulty[6] |= {"eventStart": "yesterday"}
    result = take(cast.north, package(observations=faulty), strict=False)

    assert sums(result.batch) == (7, 4, 0, 2, 1)
    assert result.batch.skipped_by_code == {"observations": {"instant_invalid": 1}}
    (line,) = result.batch.skipped
    assert (line["table"], line["line"]) == ("observations", 8)


def test_rows_outside_their_deployments_time_are_skipped_and_counted_for_its_clock(
    cast, d1, d2, package
):
    Deployment.objects.filter(id=d2.id).update(ends_at=datetime(2025, 10, 30, tzinfo=UTC))
    result = take(cast.north, package(), strict=False)

    assert sums(result.batch) == (7, 4, 0, 2, 1)
    at = "2025-11-02T07:30:00+00:00"
    assert result.batch.outside_times == {str(d2.id): {"rows": 1, "first_at": at, "last_at": at}}
    assert result.batch.skipped[0]["code"] == "outside_deployment"


def test_after_a_correction_the_same_file_brings_what_was_missing(cast, d1, d2, package):
    Deployment.objects.filter(id=d2.id).update(ends_at=datetime(2025, 10, 30, tzinfo=UTC))
    take(cast.north, package(), strict=False)
    Deployment.objects.filter(id=d2.id).update(ends_at=None)
    result = take(cast.north, package())

    assert result.is_new
    assert sums(result.batch) == (7, 1, 4, 2, 0)


def test_a_deployment_that_is_not_ours_is_refused_or_skipped_with_its_rows(cast, d1, package):
    with pytest.raises(RowsRefused) as caught:
        take(cast.north, package())
    deployments, observations = caught.value.accounts
    assert deployments.skipped_by_code == {"deployment_not_ours": 1}
    assert observations.skipped_by_code == {"deployment_not_ours": 3}

    result = take(cast.north, package(), strict=False)
    assert sums(result.batch) == (7, 2, 0, 2, 4)


def test_a_name_given_for_one_of_our_deployments_is_followed(cast, d1, d2, package):
    Deployment.objects.filter(id=d2.id).update(code="ours")
    take(cast.north, package(), deployments={"d2": d2.id})

    assert keys(d2) == ["m3", "m4", "m5"]


@pytest.mark.parametrize("problem", ["unknown", "twice"])
def test_a_name_that_cannot_be_followed_is_refused(cast, d1, d2, package, problem):
    foreign = make_deployment(make_camera(cast.south), make_scrape(cast.south), code="d9")
    named = {"d2": foreign.id if problem == "unknown" else d1.id}

    with pytest.raises(ImportRefused) as caught:
        take(cast.north, package(), deployments=named)

    assert caught.value.code == f"deployment_{'unknown' if problem == 'unknown' else 'named_twice'}"
    assert not Observation.objects.exists()


def test_cameras_that_only_the_package_knows_are_hung_at_the_nearest_scrape(cast, scrape, package):
    make_scrape(cast.north, "Far oak", east=0.003)
    result = take(cast.north, package(), create_missing=True)

    assert (result.created.cameras, result.created.deployments) == (2, 2)
    hung = Deployment.objects.get(code="d1")
    assert (hung.camera.name, hung.scrape_id, hung.heading_deg) == ("north", scrape.id, 20)
    assert hung.starts_at == HUNG_AT
    assert sums(result.batch) == (7, 5, 0, 2, 0)
    assert not take(cast.north, package(), create_missing=True).is_new
    assert CameraUnit.objects.count() == 2


def test_a_camera_far_from_every_scrape_is_not_hung(cast, package):
    make_scrape(cast.north, "Far oak", east=0.003)
    with pytest.raises(RowsRefused) as caught:
        take(cast.north, package(), create_missing=True)

    assert caught.value.accounts[0].skipped_by_code == {"no_scrape_near": 2}
    # 0.003 degrees of longitude at 43.21 N are about 244 m.
    assert "244 m away" in caught.value.accounts[0].skipped[0].reason
    assert not CameraUnit.objects.exists()


def test_what_was_hung_for_an_import_that_fails_is_undone(cast, scrape, package):
    faulty = [*OBSERVATIONS, observation("m9", "d2", "never", "media")]
    with pytest.raises(RowsRefused):
        take(cast.north, package(observations=faulty), create_missing=True)

    assert not CameraUnit.objects.exists()
    assert not Deployment.objects.exists()


def test_a_package_hangs_no_camera_that_regulation_forbids(cast, scrape, package):
    entered(cast, "cameras", {"cameras": "none"}, first_on=HUNG_AT.date() - timedelta(days=2))

    with pytest.raises(RowsRefused) as caught:
        take(cast.north, package(), create_missing=True)

    assert caught.value.accounts[0].skipped_by_code == {"camera_not_permitted": 2}
    assert "lets no camera hang" in caught.value.accounts[0].skipped[0].reason
    assert not CameraUnit.objects.exists()


def test_a_package_may_not_hang_a_camera_where_it_hung_elsewhere(cast, scrape, package):
    make_deployment(make_camera(cast.north, "north"), scrape, starts_at=HUNG_AT)
    result = take(cast.north, package(), create_missing=True, strict=False)

    assert result.batch.skipped_by_code["deployments"] == {"deployments_overlap": 1}
    assert sums(result.batch) == (7, 3, 0, 2, 3)


def test_a_package_that_doubts_its_own_times_is_not_taken_at_its_word(cast, d1, d2, package):
    place = {"latitude": str(cast.north.latitude), "longitude": str(cast.north.longitude)}
    deployments = [row | place for row in DEPLOYMENTS]
    deployments[0] |= {"timestampIssues": "true"}
    result = take(cast.north, package(deployments=deployments), strict=False)

    assert keys(d1) == []
    assert result.batch.skipped_by_code["observations"] == {"clock_wrong": 2}


def test_queries_grow_with_batches_and_not_with_rows(
    cast, d1, table, django_assert_max_num_queries
):
    rows = [
        f"2025-10-{2 + n // 24:02d}T{n % 24:02d}:00:00Z,north,a{n},animal,," for n in range(600)
    ]

    with django_assert_max_num_queries(20):
        take(cast.north, table(*rows), "csv")


def test_rows_are_stored_as_the_model_itself_would_store_them(cast, d1, d2, package):
    """The fast way in leaves the same bytes as the object's own save."""
    take(cast.north, package())
    columns = [field.column for field in Observation._meta.concrete_fields if field.name != "id"]
    select = f"SELECT {', '.join(columns)} FROM scrapes_observation ORDER BY source_key"
    with connection.cursor() as cursor:
        cursor.execute(select)
        imported = cursor.fetchall()
        for row in Observation.objects.all():
            row.delete()
            row.pk = None
            row.save(force_insert=True)
        cursor.execute(select)
        assert cursor.fetchall() == imported


def test_the_fast_way_in_writes_every_field():
    fields = {field.name for field in Observation._meta.concrete_fields}

    assert set(COLUMNS) == fields - {"id"}


def test_only_who_may_write_observations_imports_them(cast, d1, d2, package):
    with pytest.raises(PermissionDenied):
        take(cast.north, package(), actor=cast.actor(cast.member))

    assert take(cast.north, package(), actor=cast.actor(cast.manager)).is_new


def test_another_propertys_deployments_are_not_found_by_their_code(cast, package):
    south = make_scrape(cast.south)
    for code in ("d1", "d2"):
        make_deployment(make_camera(cast.south, code), south, starts_at=HUNG_AT, code=code)

    with pytest.raises(RowsRefused):
        take(cast.north, package())


def test_the_command_ends_with_a_reconciliation(cast, d1, d2, package, capsys):
    place = package()
    arguments = ["importobservations", str(place), "--property", "North", "--format", "camtrap-dp"]
    call_command(*arguments)
    first = capsys.readouterr().out
    call_command(*arguments)
    again = capsys.readouterr().out

    assert first.endswith(
        "7 observations read = 5 taken + 0 held already + 2 set aside + 0 skipped.\n"
    )
    assert "nothing added" in again

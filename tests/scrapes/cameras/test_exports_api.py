"""Observations and visits go out over HTTP and by command to whoever may have them."""

import csv
import io
import json
from datetime import datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db.models import F
from django.utils import timezone

from coop.jobs.models import JobRun
from coop.jobs.services import run_job
from properties.people.models import RoleGrant
from scrapes.cameras.flat_export import COLUMNS, observations_csv
from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations
from scrapes.cameras.models import Observation
from scrapes.visits import visit_export
from tests.cast import NOW
from tests.scrapes.seasons import evenly, observe, pull_card, steady, watched_scrape
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

from .camtrap_standard import faults, unpacked

EXPORTS = "/api/v1/observation-exports/"
OBSERVATIONS = "/api/v1/observations/export/"
VISITS = "/api/v1/visits/export/"
DAY = timedelta(days=1)
LAST_WEEK = {
    "first_on": (NOW - 8 * DAY).date().isoformat(),
    "last_on": (NOW - DAY).date().isoformat(),
}


@pytest.fixture(autouse=True)
def _files_in_a_folder_of_the_test(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


def rows_of(answer):
    assert answer.status_code == 200, answer.content
    return list(csv.DictReader(io.StringIO(answer.getvalue().decode())))


def features_of(answer):
    assert answer["Content-Type"] == "application/geo+json"
    return json.loads(answer.getvalue())["features"]


def made(cast, who="manager", **fields):
    client = cast.client(getattr(cast, who))
    return client.post(EXPORTS, {"property": cast.north.id, **fields}, format="json")


def test_a_job_makes_a_valid_package_and_lists_what_it_cannot_say(cast, tmp_path):
    steady(cast.north, "Oak")
    answer = made(cast)
    assert answer.status_code == 202, answer.data
    client = cast.client(cast.manager)
    before = client.get(answer.data["file"])
    run = run_job(run_id=answer.data["job"], now=timezone.now())

    assert before.status_code == 404
    assert run.result["outcome"] == "exported"
    assert run.result["observations"] == Observation.objects.count() > 0
    assert "pictures_not_kept" in {one["code"] for one in run.result["cannot_say"]}
    package = client.get(answer.data["file"], HTTP_ACCEPT="application/zip")
    assert package["Content-Type"] == "application/zip"
    assert 'filename="north-camtrap-dp.zip"' in package["Content-Disposition"]
    assert faults(unpacked(package.getvalue(), tmp_path)) == []


def test_a_property_without_a_word_from_its_cameras_is_told_so(cast):
    run = run_job(run_id=made(cast).data["job"], now=timezone.now())

    assert (run.result["outcome"], run.result["code"]) == ("refused", "nothing_to_export")
    file = cast.client(cast.manager).get(f"{EXPORTS}{run.id}/")
    assert file.status_code == 404


def test_a_package_is_not_for_who_lost_the_role_and_not_forever(cast):
    steady(cast.north, "Oak")
    answer = made(cast)
    run_job(run_id=answer.data["job"], now=timezone.now())
    later = made(cast)
    run_job(run_id=later.data["job"], now=timezone.now() + 15 * DAY)
    client = cast.client(cast.manager)

    assert client.get(answer.data["file"]).status_code == 404
    assert client.get(later.data["file"]).status_code == 200
    RoleGrant.objects.filter(person=cast.manager).delete()
    assert cast.client(cast.manager).get(later.data["file"]).status_code == 404


@pytest.mark.parametrize(
    ("who", "status"), [("member", 403), ("landowner", 403), ("stranger", 400)]
)
def test_members_landowners_and_strangers_start_no_export(cast, who, status):
    assert made(cast, who).status_code == status
    assert not JobRun.objects.exists()


def test_observations_stream_as_a_table_that_can_be_read_in_again(cast, tmp_path):
    hung = watched_scrape(cast.north, "Oak")
    observe(hung, evenly(0.2), sex="male", individual="=Wide Eight", count=2)
    observe(hung, evenly(0.1), kind="blank")
    answer = cast.client(cast.manager).get(OBSERVATIONS, {"property": cast.north.id})
    rows = rows_of(answer)

    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == Observation.objects.count() == 27
    assert [row["instant"] for row in rows] == sorted(row["instant"] for row in rows)
    assert {row["individual"] for row in rows} == {"'=Wide Eight", ""}
    assert {float(row["latitude"]) for row in rows} == {cast.north.latitude}
    place = tmp_path / "again.csv"
    place.write_bytes(answer.getvalue() or b"".join(_table(cast)))
    result = import_observations(
        actor=cast.actor(cast.manager),
        land=cast.north,
        request=ImportRequest(place=place, file_name=place.name, format=ImportFormat.CSV),
        now=NOW,
    )
    assert (result.batch.rows_taken, result.batch.rows_held) == (0, 27)


def _table(cast):
    rows = Observation.objects.filter(deployment__scrape__property=cast.north)
    return observations_csv(rows, shows_place=lambda _land: True)


@pytest.mark.parametrize(
    ("address", "members"),
    [(OBSERVATIONS, ("instant", "ended_at")), (VISITS, ("started_at", "ended_at"))],
)
@pytest.mark.parametrize("wanted", ["csv", "geojson"])
def test_what_leaves_tells_its_times_by_the_clock_of_the_property(cast, address, members, wanted):
    hung = watched_scrape(cast.north, "Oak")
    observe(hung, evenly(0.2))
    Observation.objects.update(ended_at=F("observed_at") + timedelta(seconds=30))
    asked = {"property": cast.north.id, "as": wanted}
    answer = cast.client(cast.manager).get(
        address, asked | (LAST_WEEK if address == VISITS else {})
    )
    if wanted == "csv":
        told = rows_of(answer)
    else:
        told = [one["properties"] for one in features_of(answer)]

    instants = Observation.objects.values_list("observed_at", flat=True)
    seen = {at.replace(microsecond=0) for at in instants}
    assert told
    for row in told:
        assert all(row[member].endswith("-05:00") for member in members)
        assert datetime.fromisoformat(row[members[0]]) in seen


def test_observations_on_a_map_follow_the_filters(cast):
    hung = watched_scrape(cast.north, "Oak")
    observe(hung, evenly(0.2))
    observe(hung, evenly(0.1), kind="blank")
    answer = cast.client(cast.manager).get(OBSERVATIONS, {"as": "geojson", "kind": "blank"})
    features = features_of(answer)

    assert {one["properties"]["kind"] for one in features} == {"blank"}
    assert features[0]["geometry"]["coordinates"] == [hung.longitude, hung.latitude]


def test_no_place_is_told_where_it_is_not_for_the_caller(cast):
    observe(watched_scrape(cast.north, "Oak"), evenly(0.1))
    lines = b"".join(observations_csv(Observation.objects.all(), shows_place=lambda _land: False))

    rows = list(csv.DictReader(io.StringIO(lines.decode())))
    assert {(row["longitude"], row["latitude"]) for row in rows} == {("", "")}


@pytest.mark.parametrize("address", [OBSERVATIONS, VISITS])
def test_a_form_or_parameter_nobody_knows_is_refused(cast, address):
    client, land = cast.client(cast.manager), cast.north.id

    assert client.get(address, {"as": "xlsx", "property": land}).status_code == 400
    assert client.get(address, {"colour": "red", "property": land}).status_code == 400


def test_visits_go_out_one_by_one_with_what_each_showed(cast):
    hung = watched_scrape(cast.north, "Oak")
    at = NOW - 3 * DAY
    observe(hung, [at, at + timedelta(minutes=5)], sex="male", individual="Wide Eight")
    observe(hung, [at + timedelta(hours=3)], sex="female")
    observe(hung, [at + timedelta(hours=3, minutes=9)], life_stage="juvenile")
    observe(hung, [at + timedelta(hours=9)])
    rows = rows_of(cast.client(cast.manager).get(VISITS, {"property": cast.north.id, **LAST_WEEK}))

    assert [(row["individual"], row["classes"], row["pictures"]) for row in rows] == [
        ("Wide Eight", "buck", "2"),
        ("", "doe | fawn", "2"),
        ("", "", "1"),
    ]
    # Noon by the property's clock on 29 October; nine hours later it is dark.
    assert [row["in_shooting_light"] for row in rows] == ["true", "true", "false"]


def test_as_many_visits_go_out_as_are_counted(cast):
    steady(cast.north, "Oak")
    steady(cast.north, "Elm", east=0.004)
    client, asked = cast.client(cast.manager), {"property": cast.north.id, **LAST_WEEK}
    counted = client.get("/api/v1/visits/", asked).data

    rows = rows_of(client.get(VISITS, asked))
    assert sum(one["rate"]["visits"] for one in counted) == len(rows) > 20


def test_members_get_visits_with_places_but_no_names(cast):
    hung = watched_scrape(cast.north, "Oak")
    observe(hung, [NOW - 3 * DAY], individual="Wide Eight")
    answer = cast.client(cast.member).get(
        VISITS, {"property": cast.north.id, "as": "geojson", **LAST_WEEK}
    )
    (feature,) = features_of(answer)

    assert feature["properties"]["individual"] is None
    assert feature["geometry"]["coordinates"] == [hung.scrape.longitude, hung.scrape.latitude]


def test_two_visits_at_once_show_each_their_own_deer(cast):
    hung = watched_scrape(cast.north, "Oak")
    at = NOW - 3 * DAY
    observe(hung, [at, at + timedelta(minutes=20)], sex="male", individual="Wide Eight")
    observe(hung, [at + timedelta(minutes=10)], sex="female", individual="Torn Ear")
    visits = visit_export.visits_out(
        actor=cast.actor(cast.manager),
        land=cast.north,
        first_on=(NOW - 8 * DAY).date(),
        last_on=NOW.date(),
        now=NOW,
    )

    told = {one.individual: one.classes for one in visits}
    assert told == {"Wide Eight": ("buck",), "Torn Ear": ("doe",)}


def test_the_command_writes_each_kind_and_ends_with_counts(cast, tmp_path, capsys):
    steady(cast.north, "Oak")
    for kind in ("camtrap-dp", "observations-csv", "observations-geojson", "visits-csv"):
        place = tmp_path / kind
        call_command(
            "exportobservations", "--property", "North", "--as", kind, "--output", str(place)
        )
        assert place.stat().st_size > 0
    said = capsys.readouterr().out

    assert "not said: No picture is kept here" in said
    assert f"{Observation.objects.count()} observations" in said
    assert "visits to scrapes of North" in said


def test_the_command_writes_no_empty_package(cast, tmp_path):
    make_deployment(make_camera(cast.north), make_scrape(cast.north))

    with pytest.raises(CommandError, match="told anything"):
        call_command(
            "exportobservations", "--property", "North", "--output", str(tmp_path / "a.zip")
        )
    assert not (tmp_path / "a.zip").exists()


def test_a_card_pulled_is_told_once_for_both_of_its_deployments(cast):
    camera = make_camera(cast.north)
    make_deployment(camera, make_scrape(cast.north))
    pull_card(camera)
    run = run_job(run_id=made(cast).data["job"], now=timezone.now())

    assert run.result["camera_statuses"] == 1

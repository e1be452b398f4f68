"""What cameras saw goes out as a valid Camtrap DP package, and comes back as it was."""

import csv
import io
import zipfile
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from coop.access.actors import system_actor
from scrapes.cameras.camtrap_export import NothingToExport
from scrapes.cameras.export_services import export_package
from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations
from scrapes.cameras.models import CameraStatus, CameraUnit, Deployment, Observation, Outage
from scrapes.visits.queries import scrape_visits
from tests.cast import NOW, make_property
from tests.scrapes.seasons import evenly, observe, pull_card, steady, watched_scrape
from tests.scrapes.sites.places import make_camera, make_deployment, make_scrape

from .camtrap_standard import described, faults, unpacked

DAY = timedelta(days=1)
ANY = {"first_on": (NOW - 80 * DAY).date(), "last_on": NOW.date()}


def export(land, *, actor=None, precision_deg=None):
    out = io.BytesIO()
    written = export_package(
        actor=actor or system_actor("test"),
        land=land,
        out=out,
        precision_deg=precision_deg,
        now=NOW,
    )
    return written, out.getvalue()


def take(land, content, tmp_path, **options):
    place = tmp_path / "taken.zip"
    place.write_bytes(content)
    request = ImportRequest(
        place=place, file_name=place.name, format=ImportFormat.CAMTRAP_DP, **options
    )
    return import_observations(actor=system_actor("test"), land=land, request=request, now=NOW)


def table(content, name):
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return list(csv.DictReader(io.StringIO(archive.read(name).decode())))


def figures(land):
    return [
        (
            one.name,
            one.rate.visits,
            one.rate.camera_nights,
            one.unread_nights,
            one.untagged_events,
            one.by_class,
            one.individuals,
            one.first_at,
            one.last_at,
            [(night.on, night.visits, night.camera_nights) for night in one.nights],
            sorted(health.state for health in one.cameras),
        )
        for one in scrape_visits(land, **ANY, now=NOW)
    ]


@pytest.fixture
def autumn(cast):
    """A card and a sending camera, two at one scrape, an outage, one moved on, namesakes."""
    north = cast.north
    oak = steady(north, "Oak")
    observe(oak, evenly(0.2), sex="male", life_stage="adult", individual="Wide Eight", count=1)
    Outage.objects.create(
        deployment=oak,
        kind="obscured",
        starts_at=NOW - 40 * DAY,
        ends_at=NOW - 33 * DAY,
        estimated=True,
        notes="Leaf, on the lens",
    )
    second = make_camera(north, "Second")
    other = make_deployment(second, oak.scrape, starts_at=NOW - 60 * DAY, code="second, at oak")
    observe(other, evenly(1.0, first=60, last=20), kind="unclassified")
    pull_card(second, at=NOW - 20 * DAY)
    # As near as scrapes can be to another: an import must not take them for one.
    ash = watched_scrape(north, "Ash", east=0.0002, transmits=True, heading_deg=12.4)
    observe(ash, evenly(0.7, first=90, last=6), event_level=True)
    for ago in range(30, 2, -1):
        CameraStatus.objects.create(
            camera=ash.camera, reported_at=NOW - ago * DAY, battery_pct=40 + ago
        )
    moved = make_camera(north, "Moved")
    first = make_deployment(
        moved, make_scrape(north, "Elm", east=-0.002), starts_at=NOW - 70 * DAY, code="elm"
    )
    Deployment.objects.filter(id=first.id).update(ends_at=NOW - 30 * DAY)
    observe(first, evenly(0.5, first=70, last=30), kind="human")
    observe(first, evenly(0.5, first=70, last=31), life_stage="juvenile")
    pull_card(moved, at=NOW - 30 * DAY)
    later = make_deployment(
        moved, make_scrape(north, "Gum", east=-0.004), starts_at=NOW - 30 * DAY, code="gum"
    )
    observe(later, evenly(1.5, first=30, last=10))
    # Both deployments hold a row of this key.
    Observation.objects.filter(id=first.observations.first().id).update(source_key="1")
    Observation.objects.filter(id=later.observations.first().id).update(source_key="1")
    never = make_camera(north, "Never read")
    make_deployment(never, make_scrape(north, "Yew", east=0.004), starts_at=NOW - 9 * DAY)
    return north


def test_a_package_is_valid_by_an_independent_validator(autumn, tmp_path):
    written, content = export(autumn)
    folder = unpacked(content, tmp_path)

    assert faults(folder) == []
    assert written.observations == len(table(content, "observations.csv"))
    assert written.observations == Observation.objects.count() > 500
    assert written.media == len(table(content, "media.csv")) > 0
    assert written.outages == 1
    assert described(folder)["project"]["observationLevel"] == ["media", "event"]
    assert described(folder)["project"]["individualAnimals"] is True


def test_a_package_read_into_an_empty_property_gives_the_same_visits_and_effort(
    cast, autumn, tmp_path
):
    before = [one for one in figures(autumn) if one[0] != "Yew"]
    assert sum(visits for _, visits, *_ in before) > 100
    _, content = export(autumn)
    empty = make_property(cast.cooperative, "Read again", -91.50, 43.20)
    result = take(empty, content, tmp_path, create_scrapes=True)

    assert figures(empty) == before
    assert (result.created.scrapes, result.created.cameras, result.created.deployments) == (4, 4, 5)
    assert result.batch.rows_taken == result.batch.rows_read
    assert CameraUnit.objects.get(property=empty, name="Camera Ash").transmits is True
    assert set(empty.scrapes.values_list("kind", flat=True)) == {"mock"}


def test_a_package_of_what_was_read_again_holds_the_same_rows(cast, autumn, tmp_path):
    _, content = export(autumn)
    empty = make_property(cast.cooperative, "Read again", -91.50, 43.20)
    take(empty, content, tmp_path, create_scrapes=True)
    _, again = export(empty)

    for name in ("observations.csv", "media.csv", "outages.csv", "camera-statuses.csv"):
        assert sorted(map(str, table(again, name))) == sorted(map(str, table(content, name)))


def test_a_package_read_into_its_own_property_adds_nothing(autumn, tmp_path):
    stored = Observation.objects.count()
    _, content = export(autumn)
    result = take(autumn, content, tmp_path)

    assert (result.batch.rows_taken, result.batch.rows_held) == (0, stored)
    assert Observation.objects.count() == stored


def test_what_the_standard_cannot_say_is_listed_with_its_figures(autumn, tmp_path):
    written, content = export(autumn)
    said = {one.code: one.sentence for one in written.unsaid}

    assert said["still_hanging"].startswith("4 cameras still hang")
    assert said["never_read"].startswith("1 deployments")
    assert said["outages"].count("1 outages") == 1
    assert said["headings_rounded"].startswith("1 headings")
    assert "white-tailed deer" in said["species_as_written"]
    assert len(written.left_out) == 1
    description = described(unpacked(content, tmp_path))["description"]
    assert all(one.sentence in description for one in written.unsaid)


def test_pictures_beside_whole_events_are_all_told_as_pictures(cast, tmp_path):
    hung = watched_scrape(cast.north, "Oak")
    observe(hung, evenly(0.3), event_level=True)
    observe(hung, evenly(0.3), sex="female")
    written, content = export(cast.north)

    assert {row["observationLevel"] for row in table(content, "observations.csv")} == {"media"}
    assert "levels_mixed" in {one.code for one in written.unsaid}
    assert faults(unpacked(content, tmp_path)) == []


def test_whole_events_have_no_media(cast, tmp_path):
    hung = watched_scrape(cast.north, "Oak")
    observe(hung, evenly(0.3), event_level=True)
    written, content = export(cast.north)

    assert written.media == 0
    assert {row["observationLevel"] for row in table(content, "observations.csv")} == {"event"}
    assert faults(unpacked(content, tmp_path)) == []


def test_rounded_places_say_how_far_off_they_may_be(autumn, tmp_path):
    _, content = export(autumn, precision_deg=0.01)
    folder = unpacked(content, tmp_path)

    places = {(row["latitude"], row["longitude"]) for row in table(content, "deployments.csv")}
    assert places == {("43.21", "-91.49")}
    # Half the diagonal of a step of 0.01 degrees: 0.7071 x 0.01 x 111.7 km.
    assert {row["coordinateUncertainty"] for row in table(content, "deployments.csv")} == {"790"}
    assert described(folder)["coordinatePrecision"] == 0.01
    assert faults(folder) == []


def test_a_property_whose_cameras_told_nothing_has_no_package(cast):
    make_deployment(make_camera(cast.north), make_scrape(cast.north))

    with pytest.raises(NothingToExport):
        export(cast.north)


@pytest.mark.parametrize("who", ["member", "landowner", "stranger"])
def test_only_who_reads_observations_and_sees_cameras_gets_a_package(cast, who):
    steady(cast.north, "Oak")

    with pytest.raises(PermissionDenied):
        export(cast.north, actor=cast.actor(getattr(cast, who)))

    assert export(cast.north, actor=cast.actor(cast.manager))[0].deployments == 1


def test_a_package_of_others_counts_as_pulled_at_its_end(cast, tmp_path):
    """By the standard all pictures of a deployment are in its package."""
    steady(cast.north, "Oak")
    _, content = export(cast.north)
    folder = unpacked(content, tmp_path)
    for name in ("outages", "camera-statuses"):
        (folder / f"{name}.csv").unlink()
    text = (folder / "datapackage.json").read_text()
    (folder / "datapackage.json").write_text(text.replace('"camera-statuses"', '"theirs"'))
    request = ImportRequest(
        place=folder,
        file_name="theirs",
        format=ImportFormat.CAMTRAP_DP,
        create_scrapes=True,
    )
    empty = make_property(cast.cooperative, "Read again", -91.50, 43.20)
    import_observations(actor=system_actor("test"), land=empty, request=request, now=NOW)

    (status,) = CameraStatus.objects.filter(camera__property=empty)
    assert (status.card_pulled, status.reported_at) == (True, NOW)

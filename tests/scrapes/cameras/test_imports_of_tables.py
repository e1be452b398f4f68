"""Taking in a table of anybody's making: its names, times and words, and its rows again."""

from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command

from scrapes.cameras.models import Deployment, Observation, ObservationImport
from scrapes.cameras.observation_rows import ImportRefused, RowsRefused
from tests.scrapes.cameras.taking_in import keys, sums, take
from tests.scrapes.sites.places import make_deployment, make_scrape


def test_a_table_names_cameras_and_each_row_goes_to_where_the_camera_hung(cast, d1, table):
    moved_at = datetime(2025, 10, 20, tzinfo=UTC)
    Deployment.objects.filter(id=d1.id).update(ends_at=moved_at)
    later = make_deployment(
        d1.camera, make_scrape(cast.north, "Far oak"), starts_at=moved_at, code="d7"
    )
    place = table(
        "2025-10-10T06:00:00-05:00,north,a1,animal,Odocoileus virginianus,male",
        "2025-10-25T06:00:00-05:00,north,a2,blank,,",
        "2025-10-26T06:00:00-05:00,d7,a3,human,,",
    )
    result = take(cast.north, place, "csv")

    assert (keys(d1), keys(later)) == (["a1"], ["a2", "a3"])
    assert sums(result.batch) == (3, 3, 0, 0, 0)


def test_a_table_of_local_times_needs_its_zone(cast, d1, table):
    place = table("2025-10-10 06:00:00,north,a1,animal,,")

    with pytest.raises(RowsRefused) as caught:
        take(cast.north, place, "csv")
    assert caught.value.accounts[0].skipped_by_code == {"offset_missing": 1}

    take(cast.north, place, "csv", zone="America/Chicago")
    assert d1.observations.get().observed_at == datetime(2025, 10, 10, 11, 0, tzinfo=UTC)


def test_a_table_in_somebody_elses_words_is_read_by_its_mapping(cast, d1, tmp_path):
    place = tmp_path / "export.csv"
    place.write_text("Date,Time,Camera,What\n10/10/2025,06:00:00,north,Deer\n")
    columns = {
        "instant": "Date",
        "clock": "Time",
        "pattern": "%m/%d/%Y %H:%M:%S",
        "deployment": "Camera",
        "kind": "What",
        "kinds": {"Deer": "animal"},
    }
    take(cast.north, place, "csv", columns=columns, zone="America/Chicago")
    again = take(cast.north, place, "csv", columns=columns, zone="America/Chicago")

    assert d1.observations.get().kind == "animal"
    assert not again.is_new


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ({"instant": "Date"}, "deployment"),
        ({"instant": "Date", "deployment": "Camera", "colour": "x"}, "colour"),
        ({"instant": 3, "deployment": "Camera"}, "instant"),
    ],
)
def test_a_mapping_that_means_nothing_is_refused_by_name(cast, d1, table, columns, says):
    with pytest.raises(ImportRefused, match=says) as caught:
        take(cast.north, table("x,north,a1,animal,,"), "csv", columns=columns)

    assert caught.value.code == "mapping_invalid"


def test_batches_are_small_and_the_sums_the_same(cast, d1, table):
    cast.north.settings = {"camera_import": {"rows_per_batch": 3}}
    cast.north.save()
    rows = [f"2025-10-{day:02d}T06:00:00Z,north,a{day},animal,," for day in range(2, 32)]
    result = take(cast.north, table(*rows), "csv")

    assert sums(result.batch) == (30, 30, 0, 0, 0)
    assert d1.observations.count() == 30


def test_the_command_names_each_line_that_stood_in_the_way(cast, d1, table, capsys):
    place = table("2025-10-10T06:00:00Z,north,a1,animal,,", "2025-10-11T06:00:00Z,west,a2,animal,,")
    arguments = ["importobservations", str(place), "--property", "North", "--format", "csv"]
    with pytest.raises(CommandError, match="--partial"):
        call_command(*arguments)
    assert "observations line 3" in capsys.readouterr().out
    assert not Observation.objects.exists()

    call_command(*arguments, "--partial")
    assert "1 taken + 0 held already + 0 set aside + 1 skipped" in capsys.readouterr().out


@pytest.mark.parametrize("options", [[], ["--partial"]])
def test_the_command_fails_where_no_line_can_be_taken(cast, d1, table, options):
    place = table("never,north,a1,animal,,", "2025-10-11T06:00:00Z,west,a2,animal,,")

    with pytest.raises(CommandError) as refused:
        call_command(
            "importobservations", str(place), "--property", "North", "--format", "csv", *options
        )

    told, *reasons = str(refused.value).splitlines()
    assert told.endswith("Correct them." if options else "Correct them, or use --partial.")
    assert [reason.split(":")[0] for reason in reasons] == [
        "observations line 2",
        "observations line 3",
    ]
    assert not ObservationImport.objects.exists()


WITHOUT_IDS = [
    "2025-10-10T06:00:00Z,d1,,animal,deer,male",
    "2025-10-10T06:00:00Z,d1,,animal,deer,male",
    "2025-10-10T06:00:00Z,d1,,animal,deer,female",
    "2025-10-11T06:00:00Z,d1,,blank,,",
    "2025-10-10T06:00:00Z,d2,,animal,deer,male",
]
"""Two pictures of one second that say the same are two rows, in whatever order."""


BY_WHAT_IT_SAYS = {
    "instant": "instant",
    "deployment": "deployment",
    "kind": "kind",
    "species": "species",
    "sex": "sex",
}


@pytest.mark.parametrize(
    ("rows", "taken", "held"),
    [
        (WITHOUT_IDS[::-1], 0, 5),
        ([WITHOUT_IDS[2], WITHOUT_IDS[0], *WITHOUT_IDS[3:], WITHOUT_IDS[1]], 0, 5),
        ([*WITHOUT_IDS, "2025-10-12T06:00:00Z,d1,,animal,deer,male"], 1, 5),
        (["2025-10-09T06:00:00Z,d1,,animal,deer,male", *WITHOUT_IDS[::-1]], 1, 5),
        ([*WITHOUT_IDS, WITHOUT_IDS[0]], 1, 5),
        (WITHOUT_IDS[1:], 0, 4),
    ],
    ids=["reversed", "shuffled", "one more", "one before", "a third of the same", "fewer"],
)
def test_a_table_without_ids_read_again_adds_only_what_is_new(
    cast, d1, d2, table, rows, taken, held
):
    first = take(cast.north, table(*WITHOUT_IDS), "csv", columns=BY_WHAT_IT_SAYS)
    again = take(cast.north, table(*rows, name="b.csv"), "csv", columns=BY_WHAT_IT_SAYS)

    assert sums(first.batch) == (5, 5, 0, 0, 0)
    assert sums(again.batch) == (taken + held, taken, held, 0, 0)
    assert Observation.objects.count() == 5 + taken


def test_rows_are_sorted_by_deployment_within_a_batch_and_keep_their_own_cells(cast, d1, d2, table):
    rows = [
        f"2025-10-{2 + n % 27:02d}T0{n % 10}:00:00Z,d{1 + n % 2},id-{n},animal,species {n},"
        for n in range(27)
    ]
    take(cast.north, table(*rows), "csv")

    stored = Observation.objects.values_list("source_key", "species", "deployment__code")
    assert sorted(stored) == sorted((f"id-{n}", f"species {n}", f"d{1 + n % 2}") for n in range(27))

"""Camtrap DP packages as they come: folder, zip, gzipped, dirty, old, hostile."""

import zipfile

import pytest

from scrapes.cameras.camtrap_dp import (
    every_observation,
    open_camtrap_dp,
    read_camtrap_dp,
    survey,
    triggers,
)
from scrapes.cameras.observation_rows import (
    NOT_STATED,
    Account,
    ImportRefused,
    RowsRefused,
    joined,
)
from scrapes.cameras.settings import ImportSettings

from .packages import DEPLOYMENTS, OBSERVATIONS, in_folder, in_zip, observation, package_files

SETTINGS = ImportSettings()
SMALL_BATCHES = ImportSettings(rows_per_batch=2)


def read(place, *, strict=True, rules=SETTINGS):
    return read_camtrap_dp(place, settings=rules, strict=strict)


def refusal(place, *, rules=SETTINGS):
    with pytest.raises(ImportRefused) as caught:
        read(place, rules=rules)
    return caught.value


@pytest.fixture
def folder(tmp_path):
    return lambda **changes: in_folder(tmp_path / "package", package_files(**changes))


def faulty(folder, row, **cells):
    """The account of observations when one row is changed."""
    rows = [dict(one) for one in OBSERVATIONS]
    rows[row] |= cells
    reading = read(folder(observations=rows), strict=False)
    account = reading.accounts[1]
    assert account.read == account.taken + account.set_aside + account.skipped_count
    return account


def test_events_and_pictures_of_the_same_animals_are_never_summed(folder):
    reading = read(folder())
    assert reading.observations.observation_id.tolist() == ["e1", "e2", "m3", "m4", "m5"]
    account = reading.accounts[1]
    assert (account.read, account.taken, account.set_aside) == (7, 5, 2)


def test_the_level_is_chosen_over_the_whole_table_however_it_is_cut(folder):
    late_event = [*OBSERVATIONS[1:4], OBSERVATIONS[0]]
    reading = read(folder(observations=late_event), rules=SMALL_BATCHES)
    assert reading.observations.observation_id.tolist() == ["e2", "e1"]


def test_blanks_people_and_vehicles_keep_their_kind(folder):
    rows = read(folder()).observations
    assert rows.kind.tolist() == ["animal", "blank", "animal", "human", "animal"]
    assert rows.set_up.tolist() == [False, False, False, True, False]


def test_offsets_are_honoured_across_the_end_of_summer_time(folder):
    rows = read(folder()).observations
    assert rows.start_s[0] == 1760958000  # 2025-10-20T11:00:00Z
    assert rows.end_s[0] - rows.start_s[0] == 300
    assert rows.start_s[4] == 1762068600  # 2025-11-02T07:30:00Z


@pytest.mark.parametrize("written", ["", "NA", "NaN", "nan"])
def test_every_way_of_writing_missing_is_missing(folder, written):
    changed = [dict(OBSERVATIONS[4]) | {"count": written, "sex": written, "individualID": written}]
    rows = read(folder(observations=changed)).observations
    assert rows.count.tolist() == [NOT_STATED]
    assert rows.sex.tolist() == [""]
    assert rows.individual.tolist() == [""]


def test_both_levels_can_be_had_in_one_reading_with_their_mark(folder):
    package = open_camtrap_dp(folder(), settings=SMALL_BATCHES)
    account = Account("observations", lines_listed=1)
    rows = joined(every_observation(package, account))
    assert rows.observation_id.tolist() == [row["observationID"] for row in OBSERVATIONS]
    assert rows.event_level.tolist() == [True, False, False, True, False, False, False]


def test_deployments_keep_place_time_and_tags(folder):
    first, second = read(folder()).deployments
    assert (first.latitude_deg, first.longitude_deg) == (38.5, -90.25)
    assert first.tags == ("scrape:oak flat", "season:autumn 2025")
    assert (first.heading_deg, second.heading_deg) == (20.0, None)
    assert (first.clock_wrong, second.clock_wrong) == (False, False)
    assert first.end_s - first.start_s == 49 * 86400 + 22 * 3600


def test_folder_zip_and_gzip_read_the_same(tmp_path):
    plain = read(in_folder(tmp_path / "plain", package_files()))
    for place in (
        in_zip(tmp_path / "top.zip", package_files()),
        in_zip(tmp_path / "below.zip", package_files(), inside="autumn/"),
        in_folder(tmp_path / "packed", package_files(packed=True)),
        in_zip(tmp_path / "both.zip", package_files(packed=True)),
    ):
        other = read(place)
        assert (
            other.observations.observation_id.tolist() == plain.observations.observation_id.tolist()
        )
        assert other.accounts == plain.accounts


def test_pictures_of_every_kind_are_had_for_camera_health(folder):
    package = open_camtrap_dp(folder(), settings=SMALL_BATCHES)
    account = Account("media", lines_listed=10)
    times = [at for batch in triggers(package, account) for at in batch.at_s.tolist()]
    assert times == [1760958000 + 60 * n for n in range(5)]
    assert account.close().taken == 5


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ({"eventStart": "2025-10-20 18:00"}, "instant_invalid"),
        ({"eventStart": "2025-10-20T18:00:00"}, "offset_missing"),
        ({"eventStart": "2025-10-20T18:00:00.5Z"}, "instant_fraction"),
        ({"eventStart": "2025-02-30T18:00:00Z"}, "instant_invalid"),
        ({"eventStart": "1969-12-31T18:00:00Z"}, "instant_invalid"),
        ({"eventStart": "45950.75"}, "spreadsheet_serial"),
        ({"eventStart": "########"}, "spreadsheet_error"),
        ({"eventEnd": "NA"}, "instant_invalid"),
        ({"eventEnd": ""}, "instant_missing"),
        ({"eventEnd": "2025-10-01T00:00:00Z"}, "ends_before_start"),
        ({"observationLevel": "sequence"}, "observationLevel_invalid"),
        ({"observationType": ""}, "observationType_invalid"),
        ({"sex": "unknown"}, "sex_invalid"),
        ({"lifeStage": "fawn"}, "lifeStage_invalid"),
        ({"count": "0"}, "count_invalid"),
        ({"count": "two"}, "count_invalid"),
        ({"count": "1.5"}, "count_invalid"),
        ({"count": "2-Jan"}, "spreadsheet_date"),
        ({"count": "99999"}, "count_invalid"),
        ({"deploymentID": "d9"}, "deployment_unknown"),
        ({"observationID": ""}, "id_missing"),
        ({"observationID": "m5"}, "observation_repeated"),
        ({"observationID": "x" * 121}, "id_too_long"),
    ],
)
def test_a_faulty_row_is_skipped_with_its_line_and_reason(folder, cells, code):
    account = faulty(folder, 4, **cells)
    assert account.skipped_by_code == {code: 1}
    line = 8 if code == "observation_repeated" else 6
    assert [(row.line, row.code) for row in account.skipped] == [(line, code)]
    assert account.skipped[0].reason.endswith(".")


def test_all_or_nothing_refuses_the_whole_and_names_every_row(folder):
    rows = [*OBSERVATIONS, observation("bad", "d9", "2025-10-20T18:00:00Z", "media")]
    with pytest.raises(RowsRefused) as caught:
        read(folder(observations=rows))
    assert caught.value.accounts[1].skipped[0].line == 9


def test_a_faulty_deployment_takes_its_observations_with_it_and_says_so(folder):
    deployments = [dict(DEPLOYMENTS[0]), dict(DEPLOYMENTS[1]) | {"latitude": "138.5"}]
    first, second = read(folder(deployments=deployments), strict=False).accounts
    assert first.skipped_by_code == {"latitude_invalid": 1}
    assert second.skipped_by_code == {"deployment_unknown": 3}


def test_a_deployment_named_twice_is_taken_once(folder):
    account = read(folder(deployments=[*DEPLOYMENTS, DEPLOYMENTS[0]]), strict=False).accounts[0]
    assert account.skipped_by_code == {"deployment_repeated": 1}


def test_a_row_with_too_many_cells_and_one_with_a_stray_quote_are_skipped(folder):
    plain = package_files()["observations.csv"]
    reading = read(folder(observations=plain + b'a,b\r\n"x"y,d1\r\n'), strict=False)
    assert reading.accounts[1].skipped_by_code == {"row_ragged": 1, "row_malformed": 1}
    assert [row.line for row in reading.accounts[1].skipped] == [9, 10]


def test_a_quoted_cell_over_two_lines_keeps_the_lines_of_later_rows_right(folder):
    rows = [dict(one) for one in OBSERVATIONS]
    rows[0]["mediaID"] = "two\nlines"
    rows[4]["count"] = "none"
    account = read(folder(observations=rows), strict=False).accounts[1]
    assert account.skipped[0].line == 7


def test_only_so_many_lines_are_named_but_all_are_counted(folder):
    rows = [observation(f"x{n}", "d9", "2025-10-20T18:00:00Z", "media") for n in range(30)]
    few = ImportSettings(skipped_lines_listed=10)
    account = read(folder(observations=rows), strict=False, rules=few).accounts[1]
    assert account.skipped_count == 30
    assert len(account.skipped) == 10


@pytest.mark.parametrize("version", ["0.1.6", "0.6", "1.0-rc.1"])
def test_older_versions_are_refused_by_name(folder, version):
    refused = refusal(folder(version=version))
    assert refused.code == "version_too_old"
    assert version in refused.message


@pytest.mark.parametrize("version", ["1.1", "2.0.0", "10.0"])
def test_newer_versions_are_refused_by_name(folder, version):
    assert refusal(folder(version=version)).code == "version_too_new"


@pytest.mark.parametrize("version", ["1.0", "1.0.1", "1.0.2"])
def test_every_1_0_is_read(folder, version):
    assert read(folder(version=version)).version == version


@pytest.mark.parametrize("profile", [None, 7, "https://example.org/other/1.0.2/profile.json"])
def test_a_package_of_another_kind_is_refused(folder, profile):
    assert refusal(folder(profile=profile)).code == "version_unknown"


@pytest.mark.parametrize(
    "path",
    [
        "../observations.csv",
        "/etc/observations.csv",
        "~/observations.csv",
        "./observations.csv",
        "a/../observations.csv",
        "https://example.org/observations.csv",
        "a\\b.csv",
        "",
        7,
        ["a.csv", "b.csv"],
    ],
)
def test_a_table_outside_the_package_is_refused(folder, path):
    resources = [
        {"name": "deployments", "path": "deployments.csv"},
        {"name": "media", "path": "media.csv"},
        {"name": "observations", "path": path},
    ]
    assert refusal(folder(resources=resources)).code in {"path_unsafe", "path_invalid"}


def test_a_link_that_leads_out_of_the_folder_is_refused(tmp_path):
    place = in_folder(tmp_path / "package", package_files())
    outside = tmp_path / "outside.csv"
    (place / "media.csv").rename(outside)
    (place / "media.csv").symlink_to(outside)
    package = open_camtrap_dp(place, settings=SETTINGS)
    with pytest.raises(ImportRefused, match=r"media\.csv"):
        list(triggers(package, Account("media", lines_listed=1)))


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"resources": "none"}, "tables_missing"),
        ({"resources": []}, "tables_missing"),
        ({"observations": b""}, "table_empty"),
        ({"observations": b"observationID,deploymentID\n"}, "columns_missing"),
        ({"deployments": b"deploymentID,deploymentID\n"}, "columns_missing"),
        ({"observations": b"\xff\xfe\x00"}, "encoding_invalid"),
        ({"observations": b"observationID\x00,deploymentID\n"}, "encoding_invalid"),
        ({"deployments": b'"never closed'}, "header_invalid"),
    ],
)
def test_a_package_that_cannot_be_read_is_refused(folder, changes, code):
    assert refusal(folder(**changes)).code == code


def test_a_description_that_is_no_object_is_refused(tmp_path):
    place = in_folder(tmp_path / "package", package_files())
    for written in (b"[1]", b"{", b"\xff", b"[" * 200_000, b'{"a": "\\u0000"}', b'{"\\ud800": 1}'):
        (place / "datapackage.json").write_bytes(written)
        assert refusal(place).code == "description_invalid"
    (place / "datapackage.json").unlink()
    assert refusal(place).code == "no_description"


def test_what_is_no_package_is_refused(tmp_path):
    plain = tmp_path / "notes.txt"
    plain.write_bytes(b"nothing")
    assert refusal(plain).code == "no_package"
    assert refusal(tmp_path / "absent.zip").code == "no_package"
    assert refusal(in_zip(tmp_path / "empty.zip", {})).code == "no_description"


def test_a_table_made_to_exhaust_the_machine_is_refused(tmp_path):
    bomb = package_files(observations=b"observationID," * 4_000_000)
    assert refusal(in_zip(tmp_path / "bomb.zip", bomb)).code == "table_grows_too_much"


def test_a_table_larger_than_allowed_is_refused(folder):
    rows = [observation(f"x{n}", "d1", "2025-10-20T18:00:00Z", "media") for n in range(300)]
    small = ImportSettings(largest_table_mb=0.01)
    assert refusal(folder(observations=rows), rules=small).code == "table_too_large"


def test_too_many_files_and_a_damaged_archive_are_refused(tmp_path):
    place = in_zip(tmp_path / "many.zip", package_files() | {f"{n}.jpg": b"" for n in range(9)})
    assert refusal(place, rules=ImportSettings(most_files=5)).code == "too_many_files"
    whole = bytearray(in_zip(tmp_path / "ok.zip", package_files()).read_bytes())
    with zipfile.ZipFile(tmp_path / "ok.zip") as archive:
        start = archive.getinfo("observations.csv").header_offset + 60
    whole[start : start + 40] = bytes(40)
    (tmp_path / "damaged.zip").write_bytes(whole)
    assert refusal(tmp_path / "damaged.zip").code == "file_damaged"


def test_a_survey_keeps_nothing_and_finds_what_is_counted_by_event(folder):
    found = survey(open_camtrap_dp(folder(), settings=SETTINGS), strict=True)
    assert found.by_event == {"d1"}

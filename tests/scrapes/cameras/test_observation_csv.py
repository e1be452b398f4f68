"""Anybody's table by a mapping: zones, clock changes, words, and what a spreadsheet does."""

import gzip

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scrapes.cameras.column_mapping import ColumnMapping
from scrapes.cameras.observation_csv import read_observation_csv
from scrapes.cameras.observation_rows import ImportRefused, RowsRefused
from scrapes.cameras.settings import ImportSettings

SETTINGS = ImportSettings()
AWARE = ColumnMapping(instant="When", deployment="Camera", count="N", sex="Sex", individual="Name")
LOCAL = ColumnMapping(instant="When", deployment="Camera", zone="America/Chicago")
AMERICAN = ColumnMapping(
    instant="Date",
    clock="Time",
    pattern="%m/%d/%Y %I:%M %p",
    deployment="Camera",
    zone="America/Chicago",
)
HEADER = "When,Camera,N,Sex,Name\n"


@pytest.fixture
def table(tmp_path):
    def write(text, name="table.csv", encoding="utf-8"):
        place = tmp_path / name
        content = text.encode(encoding)
        place.write_bytes(gzip.compress(content) if name.endswith(".gz") else content)
        return place

    return write


def read(place, mapping, *, strict=False, **options):
    return read_observation_csv(place, mapping=mapping, settings=SETTINGS, strict=strict, **options)


def reasons(reading):
    return [(row.line, row.code) for row in reading.account.skipped]


def one_instant(table, written, mapping=LOCAL):
    return read(table(f"When,Camera\n{written},north\n"), mapping)


def test_a_plain_table_is_read(table):
    reading = read(
        table(HEADER + "2025-10-20T18:00:00-05:00,north,2,male, wide eight \n"), AWARE, strict=True
    )
    rows = reading.observations
    assert rows.start_s.tolist() == [1761001200]
    assert rows.count.tolist() == [2]
    assert rows.individual.tolist() == ["wide eight"]
    assert rows.kind.tolist() == ["animal"]
    assert (reading.account.read, reading.account.taken) == (1, 1)


def test_a_local_time_without_a_zone_is_refused_and_not_guessed(table):
    reading = read(table(HEADER + "2025-10-20T18:00:00,north,1,,\n"), AWARE)
    assert reasons(reading) == [(2, "offset_missing")]
    assert "not guessed" in reading.account.skipped[0].reason


def test_a_local_time_is_read_in_the_zone_named(table):
    assert one_instant(table, "2025-10-20 18:00:00").observations.start_s.tolist() == [1761001200]
    assert one_instant(table, "2025-11-20 18:00:00").observations.start_s.tolist() == [1763683200]


def test_an_offset_in_the_cell_wins_over_the_zone(table):
    assert one_instant(table, "2025-10-20T18:00:00Z").observations.start_s.tolist() == [1760983200]


def test_an_hour_that_was_twice_is_refused_until_somebody_says_which(table):
    written = "2025-11-02 01:30:00"
    assert reasons(one_instant(table, written)) == [(2, "instant_repeated_hour")]
    for which, seconds in (("first", 1762065000), ("second", 1762068600)):
        mapping = ColumnMapping(
            instant="When", deployment="Camera", zone="America/Chicago", repeated_hour=which
        )
        assert one_instant(table, written, mapping).observations.start_s.tolist() == [seconds]


def test_an_hour_that_never_was_is_refused(table):
    assert reasons(one_instant(table, "2025-03-09 02:30:00")) == [(2, "instant_skipped_hour")]


def test_dates_and_times_in_two_columns_follow_their_pattern(table):
    reading = read(table("Date,Time,Camera\n10/20/2025,6:00 PM,north\n"), AMERICAN, strict=True)
    assert reading.observations.start_s.tolist() == [1761001200]


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("45950,6:00 PM,north", "spreadsheet_serial"),
        ("45950.75,6:00 PM,north", "spreadsheet_serial"),
        ("########,6:00 PM,north", "spreadsheet_error"),
        ("#VALUE!,6:00 PM,north", "spreadsheet_error"),
        ("20/10/2025,6:00 PM,north", "instant_invalid"),
        ("2025-10-20,18:00,north", "instant_invalid"),
        ("10/20/2025,,north", "instant_missing"),
        ("10/20/2025,6:00 PM,", "deployment_missing"),
    ],
)
def test_a_mangled_date_is_named_for_what_it_is(table, row, code):
    assert reasons(read(table(f"Date,Time,Camera\n{row}\n"), AMERICAN)) == [(2, code)]


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ("2-Jan,,", "spreadsheet_date"),
        ("Jan-02,,", "spreadsheet_date"),
        ("01/02/2025,,", "spreadsheet_date"),
        ("many,,", "count_invalid"),
        ("1,buck,", "word_unknown"),
        ("1,,8-Oct", "spreadsheet_date"),
        ("1,,1.2E+11", "spreadsheet_number"),
        ("1,,#NAME?", "spreadsheet_error"),
        (f"1,,{'x' * 61}", "individual_too_long"),
    ],
)
def test_a_mangled_cell_is_named_for_what_it_is(table, cells, code):
    reading = read(table(HEADER + f"2025-10-20T18:00:00Z,north,{cells}\n"), AWARE)
    assert reasons(reading) == [(2, code)]


def test_the_tables_own_words_are_translated(table):
    mapping = ColumnMapping(
        instant="When",
        deployment="Camera",
        kind="What",
        sex="Sex",
        kinds={"deer": "animal", "nothing": "blank"},
        sexes={"buck": "male", "?": ""},
    )
    text = "When,Camera,What,Sex\n"
    text += "".join(
        f"2025-10-20T18:0{n}:00Z,north,{cells}\n"
        for n, cells in enumerate(["deer,buck", "nothing,", "human,?", ","])
    )
    rows = read(table(text), mapping, strict=True).observations
    assert rows.kind.tolist() == ["animal", "blank", "human", "unknown"]
    assert rows.sex.tolist() == ["male", "", "", ""]


def test_an_unknown_camera_is_skipped(table):
    place = table(HEADER + "2025-10-20T18:00:00Z,nowhere,1,,\n")
    assert reasons(read(place, AWARE, deployments={"north"})) == [(2, "deployment_unknown")]


def test_all_or_nothing_refuses_the_whole(table):
    place = table(HEADER + "2025-10-20T18:00:00Z,north,1,,\nyesterday,north,1,,\n")
    with pytest.raises(RowsRefused) as caught:
        read(place, AWARE, strict=True)
    assert caught.value.accounts[0].skipped[0].line == 3


def test_the_same_table_gives_the_same_ids_and_equal_rows_stay_apart(table):
    row = "2025-10-20T18:00:00Z,north,1,male,\n"
    place = table(HEADER + row + row + row.replace("north", "south"))
    first = read(place, AWARE).observations.observation_id.tolist()
    assert len(set(first)) == 3
    assert read(place, AWARE).observations.observation_id.tolist() == first


def test_ids_of_the_table_are_kept_and_taken_once(table):
    mapping = ColumnMapping(instant="When", deployment="Camera", observation_id="Name")
    row = "2025-10-20T18:00:00Z,north,,,a7\n"
    reading = read(table(HEADER + row + row), mapping)
    assert reading.observations.observation_id.tolist() == ["a7"]
    assert reasons(reading) == [(3, "observation_repeated")]


def test_other_separators_encodings_and_packing_are_read(table):
    mapping = ColumnMapping(instant="When", deployment="Câmera", delimiter=";", encoding="latin-1")
    text = "When;Câmera\n2025-10-20T18:00:00Z;north\n"
    for name in ("table.csv", "table.csv.gz"):
        assert len(read(table(text, name, "latin-1"), mapping).observations) == 1
    wrong = ColumnMapping(instant="When", deployment="Câmera", delimiter=";")
    with pytest.raises(ImportRefused) as caught:
        read(table(text, encoding="latin-1"), wrong)
    assert caught.value.code == "encoding_invalid"


@pytest.mark.parametrize(
    ("options", "code"),
    [
        ({"zone": "Mars/Olympus"}, "zone_unknown"),
        ({"zone": "../etc/passwd"}, "zone_unknown"),
        ({"pattern": "%d.%m.%Y %H:%M"}, "zone_missing"),
        ({"pattern": "%d.%m.%Y %H:%M %z", "zone": "UTC"}, "mapping_invalid"),
        ({"repeated_hour": "both"}, "mapping_invalid"),
        ({"kinds": {"deer": "cervid"}}, "mapping_invalid"),
    ],
)
def test_a_mapping_that_would_have_to_guess_is_refused(options, code):
    with pytest.raises(ImportRefused) as caught:
        ColumnMapping(instant="When", deployment="Camera", **options)
    assert caught.value.code == code


@pytest.mark.parametrize("line", ["Wh\0en", "x\0", '"a\nb\0"'])
def test_a_table_with_a_nul_is_refused_whole(table, line):
    with pytest.raises(ImportRefused) as caught:
        read(table(HEADER + line + "\n"), AWARE)
    assert caught.value.code == "encoding_invalid"


def test_a_mapped_column_that_is_not_there_is_refused(table, tmp_path):
    with pytest.raises(ImportRefused, match="Sex"):
        read(table("When,Camera,N,Name\n"), AWARE)
    with pytest.raises(ImportRefused) as caught:
        read(tmp_path / "absent.csv", AWARE)
    assert caught.value.code == "file_missing"


written_cells = st.one_of(
    # A table with a NUL is refused whole: no text holds one.
    st.text(st.characters(exclude_characters="\0"), max_size=25),
    st.sampled_from(
        ["", "NA", "45950.75", "2-Jan", "2025-11-02 01:30:00", "2025-03-09 02:30:00", "1", "north",
         "0001-01-01 00:00:00", "9999-12-31 23:59:59", "9999-12-31T23:59:59-14:00", "male", '"']
    ),
)  # fmt: skip


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    rows=st.lists(st.lists(written_cells, min_size=4, max_size=6), max_size=6),
    mapping=st.sampled_from(
        [
            AWARE,
            ColumnMapping(instant="When", deployment="Camera", zone="America/Chicago", count="N"),
            ColumnMapping(
                instant="When", deployment="Camera", zone="Europe/Dublin", pattern="%Y-%m-%d %H:%M"
            ),
        ]
    ),
)
def test_mutated_rows_are_taken_or_refused_and_nothing_else(tmp_path, rows, mapping):
    text = HEADER + "".join(",".join(row) + "\n" for row in rows)
    place = tmp_path / "mutated.csv"
    place.write_bytes(text.encode("utf-8", "replace"))
    reading = read(place, mapping)
    account = reading.account
    assert account.read == account.taken + account.skipped_count
    assert len(reading.observations) == account.taken

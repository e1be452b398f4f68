"""Whatever stands in a package, the reader takes it or refuses it; it never breaks."""

import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scrapes.cameras.camtrap_dp import read_camtrap_dp
from scrapes.cameras.observation_rows import ImportRefused
from scrapes.cameras.settings import ImportSettings

from .packages import DEPLOYMENTS, OBSERVATIONS, in_folder, package_files

SETTINGS = ImportSettings()

cells = st.one_of(
    # A table with a NUL is refused whole: no text holds one.
    st.text(st.characters(exclude_characters="\0"), max_size=30),
    st.sampled_from(
        ["", "NA", "nan", "event", "media", "animal", "2025-10-20T18:00:00Z", "45950", "-1", "1e9",
         "2-Jan", "9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00+14:00", "٣", "d1", '"', "\r\n"]
    ),
)  # fmt: skip


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_mutated_rows_are_taken_or_refused_and_never_break_the_reader(tmp_path, data):
    rows = [dict(one) for one in OBSERVATIONS]
    places = [dict(one) for one in DEPLOYMENTS]
    for table in (rows, places):
        for _ in range(data.draw(st.integers(0, 4))):
            row = data.draw(st.sampled_from(table))
            row[data.draw(st.sampled_from(sorted(row)))] = data.draw(cells)
    try:
        content = package_files(observations=rows, deployments=places)
    except UnicodeEncodeError:
        return
    place = in_folder(tmp_path / "mutated", content)
    reading = read_camtrap_dp(place, settings=ImportSettings(rows_per_batch=3), strict=False)
    for account in reading.accounts:
        assert account.read == account.taken + account.set_aside + account.skipped_count
    assert len(reading.observations) == reading.accounts[1].taken
    assert len(reading.deployments) == reading.accounts[0].taken


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_mutated_bytes_are_read_or_refused_and_nothing_else(tmp_path, data):
    files = package_files(packed=data.draw(st.booleans()))
    name = data.draw(st.sampled_from(sorted(files)))
    content = bytearray(files[name])
    for _ in range(data.draw(st.integers(1, 5))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    files[name] = bytes(content[: data.draw(st.integers(0, len(content)))])
    place = in_folder(tmp_path / "mutated", files)
    try:
        reading = read_camtrap_dp(place, settings=SETTINGS, strict=False)
    except ImportRefused:
        return
    assert len(reading.observations) == reading.accounts[1].taken


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    description=st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(max_size=8) | st.just("deployments"),
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(
                st.sampled_from(["profile", "resources", "name", "path", "dialect", "encoding"]),
                inner,
                max_size=5,
            )
        ),
        max_leaves=12,
    )
)
def test_any_description_is_read_or_refused(tmp_path, description):
    files = package_files()
    whole = json.loads(files["datapackage.json"])
    if isinstance(description, dict):
        whole["resources"] = [{**one, **description} for one in whole["resources"]]
        whole |= {name: description[name] for name in {"profile"} & set(description)}
    else:
        whole["resources"] = description
    files["datapackage.json"] = json.dumps(whole).encode()
    place = in_folder(tmp_path / "described", files)
    try:
        reading = read_camtrap_dp(place, settings=SETTINGS, strict=False)
    except ImportRefused:
        return
    assert len(reading.deployments) == 2

"""A backup brings back every row and every guard, and a drill finds what does not come back."""

import sqlite3
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from coop.backups import services, sqlite
from coop.backups.contents import Contents, TableContents, differences, summed
from coop.backups.services import NotEmpty, drill_backup, restore_backup, save_backup
from tests.cast import make_cast, make_stand

NOWHERE_ELSE = {"ENGINE": "django.db.backends.sqlite3"}


@pytest.fixture
def filled(transactional_db):
    """A database of its own kind with a cooperative in it, committed."""
    cast = make_cast()
    make_stand(cast.north, "Ridge ladder")
    if connection.settings_dict["NAME"] and "memory" in str(connection.settings_dict["NAME"]):
        pytest.skip("an in-memory database has no file to save")
    return connection.settings_dict


@pytest.fixture
def database(tmp_path: Path) -> dict:
    place = tmp_path / "coop.sqlite3"
    with sqlite3.connect(place) as made:
        made.execute("CREATE TABLE sit (id INTEGER PRIMARY KEY, stand TEXT NOT NULL)")
        made.execute("CREATE TABLE note (sit INTEGER, text TEXT)")
        made.execute("CREATE UNIQUE INDEX once ON sit (stand)")
        made.execute(
            "CREATE TRIGGER kept BEFORE DELETE ON sit BEGIN SELECT RAISE(ABORT, 'kept'); END"
        )
        made.executemany("INSERT INTO sit (stand) VALUES (?)", [(f"s{n}",) for n in range(500)])
    return {**NOWHERE_ELSE, "NAME": str(place)}


def test_a_drill_on_sqlite_brings_back_rows_and_guards(database):
    drill = drill_backup(database=database)
    assert drill.differences == ()
    assert drill.restored.tables["sit"].rows == 500
    assert len(drill.restored.guards) == 4


def test_a_restored_database_refuses_what_the_first_one_refused(database, tmp_path):
    save_backup(database=database, to=tmp_path / "b")
    copy = {**NOWHERE_ELSE, "NAME": str(tmp_path / "copy.sqlite3")}
    restore_backup(backup=tmp_path / "b", database=copy)
    with sqlite3.connect(copy["NAME"]) as restored, pytest.raises(sqlite3.Error, match="kept"):
        restored.execute("DELETE FROM sit")


def test_what_others_write_while_the_backup_runs_is_whole_or_absent(database, tmp_path):
    """A writer commits between count and copy: both must be of the same instant."""
    sqlite3.connect(database["NAME"]).execute("PRAGMA journal_mode=WAL").connection.close()
    counted = sqlite._contents

    def counted_then_written(source):
        found = counted(source)
        with sqlite3.connect(database["NAME"]) as writer:
            writer.execute("INSERT INTO sit (stand) VALUES ('late')")
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sqlite, "_contents", counted_then_written)
        saved = sqlite.save(Path(database["NAME"]), tmp_path / "b")
    assert list(differences(saved, sqlite.contents(tmp_path / "b"))) == []
    assert sqlite.contents(Path(database["NAME"])).tables["sit"].rows == 501


def test_a_backup_is_restored_into_an_empty_database_only(database, tmp_path):
    save_backup(database=database, to=tmp_path / "b")
    with pytest.raises(NotEmpty):
        restore_backup(backup=tmp_path / "b", database=database)


def test_a_failed_backup_leaves_no_file_and_the_old_one_stands(database, tmp_path, monkeypatch):
    (tmp_path / "b").write_text("the backup of yesterday")

    def broken(_database, to):
        to.write_text("half")
        raise OSError("disk full")

    monkeypatch.setattr(services.sqlite, "save", broken)
    with pytest.raises(OSError, match="disk full"):
        save_backup(database=database, to=tmp_path / "b")
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith("b")] == ["b"]
    assert (tmp_path / "b").read_text() == "the backup of yesterday"


def test_saving_by_command_says_that_the_disk_is_full_and_leaves_no_file(
    filled, tmp_path, monkeypatch
):
    monkeypatch.setattr(services.sqlite, "save", _full)
    monkeypatch.setattr(services.postgres, "save", _full)
    with pytest.raises(CommandError, match="disk is full"):
        call_command("savebackup", tmp_path / "b", stdout=StringIO())
    assert list(tmp_path.iterdir()) == []


def _full(_database, to):
    to.write_text("half")
    raise sqlite3.OperationalError("database or disk is full")


def test_a_changed_a_missing_and_an_added_row_are_told_by_table():
    def held(**tables: list[tuple]) -> Contents:
        return Contents(
            tables={name: summed(rows) for name, rows in tables.items()}, guards=frozenset()
        )

    before = held(sit=[(1, "a"), (2, "b")], note=[(1,)])
    assert list(differences(before, held(sit=[(2, "b"), (1, "a")], note=[(1,)]))) == []
    assert list(differences(before, held(sit=[(1, "a"), (2, "c")], note=[(1,)]))) == [
        "table sit: 2 rows in both, with other contents"
    ]
    assert list(differences(before, held(sit=[(1, "a")], note=[(1,)]))) == [
        "table sit: 2 rows in the original, 1 in the copy"
    ]
    assert list(differences(before, held(sit=[(1, "a"), (2, "b")]))) == [
        "table note is only in the original"
    ]


def test_a_guard_that_did_not_come_back_is_told():
    before = Contents(tables={}, guards=frozenset({"trigger a", "index b"}))
    after = Contents(tables={}, guards=frozenset({"index b"}))
    assert list(differences(before, after)) == ["only in the original: trigger a"]


def test_two_equal_rows_are_not_taken_for_none():
    assert summed([(1,), (1,)]).rows == 2
    assert summed([(1,), (1,)]).checksum != summed([]).checksum
    assert summed([]) == TableContents(rows=0, checksum=0)


def test_the_drill_command_compares_the_real_database_and_says_so(filled):
    out = StringIO()
    call_command("drillbackup", stdout=out)
    assert "restored counts and checksums are equal" in out.getvalue()


def test_the_drill_command_fails_and_names_the_table_that_differs(filled, monkeypatch):
    monkeypatch.setattr(
        services, "differences", lambda _one, _other: iter(["table sit: 2 rows, 1 in the copy"])
    )
    errors = StringIO()
    with pytest.raises(CommandError, match="1 differences"):
        call_command("drillbackup", stdout=StringIO(), stderr=errors)
    assert "table sit" in errors.getvalue()


def test_restoring_by_command_refuses_the_database_that_is_in_use(filled, tmp_path):
    call_command("savebackup", tmp_path / "b", stdout=StringIO())
    with pytest.raises(CommandError, match="empty"):
        call_command("restorebackup", tmp_path / "b")

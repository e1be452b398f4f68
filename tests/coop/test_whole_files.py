"""A file that could not be written to its end is not there, and what was there before still is."""

import errno
import os
import stat

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from coop.whole_files import WholeFileStorage, whole_file


class FullFile(ContentFile):
    """Whose second piece finds no room."""

    def chunks(self, chunk_size=None):
        yield b"first"
        raise OSError(errno.ENOSPC, "No space left on device")


def test_a_file_is_there_once_it_is_whole(tmp_path):
    with whole_file(tmp_path / "map.gpx") as out:
        out.write(b"new")
        assert not (tmp_path / "map.gpx").exists()

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"map.gpx": b"new"}


def test_a_failure_leaves_what_was_there_before(tmp_path):
    (tmp_path / "map.gpx").write_bytes(b"old")
    with pytest.raises(OSError, match="space"), whole_file(tmp_path / "map.gpx") as out:
        out.writelines(FullFile(b"").chunks())

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"map.gpx": b"old"}


def test_a_link_is_followed_and_a_pipe_is_written_to(tmp_path):
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    os.mkfifo(tmp_path / "pipe")
    reading = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    for name in ("link", "pipe"):
        with whole_file(tmp_path / name) as out:
            out.write(b"new")

    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"
    assert os.read(reading, 10) == b"new"
    os.close(reading)
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)


def test_what_is_uploaded_is_kept_whole_or_not_at_all(tmp_path):
    storage = WholeFileStorage(location=tmp_path)

    kept = storage.save("folder/card.csv", ContentFile(b"x" * 100_000))
    with pytest.raises(OSError, match="space"):
        storage.save("folder/other.csv", FullFile(b""))

    assert (storage.size(kept), storage.listdir("folder")[1]) == (100_000, ["card.csv"])


def test_uploads_and_exports_are_kept_so():
    assert isinstance(default_storage._wrapped or default_storage, WholeFileStorage)

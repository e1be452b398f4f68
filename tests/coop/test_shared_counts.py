"""Processes of one service share their counters in a folder that goes with the service."""

from coop.management.commands import serve
from coop.management.commands.serve import shared_counts


def test_counters_lie_in_memory_and_go_with_the_service(tmp_path, monkeypatch):
    monkeypatch.setattr(serve, "MEMORY", tmp_path)
    with shared_counts() as one, shared_counts() as other:
        assert one != other
        assert one.parent == other.parent == tmp_path
        assert list(one.iterdir()) == []
        (one / "counter_1.db").touch()

    assert list(tmp_path.iterdir()) == []


def test_counters_lie_elsewhere_where_memory_is_no_place(tmp_path, monkeypatch):
    monkeypatch.setattr(serve, "MEMORY", tmp_path / "none")
    with shared_counts() as folder:
        assert folder.is_dir()

    assert not folder.exists()

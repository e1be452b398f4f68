"""A small file system of one's own, and a database on it.

``python -m tests.faults.small_disk KIND`` is run in a mount namespace of its own, so that
nobody else sees the disk and nothing of it is left when the process ends, however it ends.
There it makes the disk, a database of the kind, and asks ``disk_full_work`` to fill it.
"""

import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.faults import one
from tests.faults.machine import ROOT, own_postgres

MIB = 1024 * 1024
SIZES_MIB = {"sqlite": 64, "postgres": 160, "postgres_wal": 160}
"""``postgres`` has its WAL on another disk, ``postgres_wal`` on the small one too."""
IN_ITS_OWN_NAMESPACE = ("unshare", "--mount", "--propagation", "private")
TEMPLATE, DATABASE = "faults_template", "small"


def is_allowed() -> bool:
    """Whether this machine lets us mount; what it mounts is gone with the process that did."""
    with tempfile.TemporaryDirectory() as folder:
        mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder]
        try:
            tried = subprocess.run([*IN_ITS_OWN_NAMESPACE, *mount], capture_output=True)
        except FileNotFoundError:
            return False
    return os.geteuid() == 0 and tried.returncode == 0


class Disk:
    """A file system that can be filled to its last byte, and made room on again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._ballast = folder / "ballast"

    def fill(self) -> int:
        """Write until the system says that no space is left; returns how many bytes."""
        with self._ballast.open("ab", buffering=0) as file:
            for size in (MIB, 4096, 1):
                try:
                    while file.write(bytes(size)) == size:
                        pass
                except OSError:
                    continue
        return self._ballast.stat().st_size

    def make_room(self) -> None:
        self._ballast.unlink(missing_ok=True)

    @property
    def free_bytes(self) -> int:
        told = os.statvfs(self.folder)
        return told.f_bavail * told.f_frsize


@contextmanager
def small_disk(size_mib: int) -> Iterator[Disk]:
    with tempfile.TemporaryDirectory(prefix="faults-small-disk-") as folder:
        options = f"size={size_mib}m,mode=0777"
        subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", folder], check=True)
        try:
            yield Disk(Path(folder))
        finally:
            subprocess.run(["umount", "--lazy", folder], check=True)


def main(kind: str) -> int:
    # Ends by an exception, so that the servers it started are ended too.
    signal.signal(signal.SIGTERM, lambda *_told: sys.exit("ended from outside"))
    with ExitStack() as stack:
        disk = stack.enter_context(small_disk(SIZES_MIB[kind]))
        for name in ("var/static", "tmp", "out"):
            disk.folder.joinpath(name).mkdir(parents=True)
        environment = {
            **os.environ,
            "COOP_VAR_DIR": str(disk.folder / "var"),
            "TMPDIR": str(disk.folder / "tmp"),
            "FAULTS_SMALL_DISK": str(disk.folder),
            "FAULTS_DISK_KIND": kind,
            "FAULTS_ELSEWHERE": os.environ["COOP_VAR_DIR"],
        }
        if kind == "sqlite":
            environment["COOP_DATABASE_URL"] = f"sqlite:///{disk.folder / 'coop.sqlite3'}"
            _run([sys.executable, "manage.py", "migrate", "-v", "0"], environment)
        else:
            environment |= _postgres(stack, disk, has_wal=kind == "postgres_wal")
        work = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.one", "disk_full_work"],
            cwd=ROOT,
            env=environment,
        )
        stack.callback(work.wait)
        stack.callback(work.terminate)
        return work.wait()


def _postgres(stack: ExitStack, disk: Disk, *, has_wal: bool) -> dict[str, str]:
    """A cluster on the disk with a copy of the run's own database; its place."""
    options = ["--wal-segsize=1"]
    if not has_wal:
        # Made and owned by the server; deleted with the cluster's user's folder in the end.
        elsewhere = stack.enter_context(tempfile.TemporaryDirectory(prefix="faults-wal-"))
        Path(elsewhere).chmod(0o777)
        options += ["--waldir", f"{elsewhere}/wal"]
    server = stack.enter_context(own_postgres(inside=disk.folder, initdb=options))
    server.statement(f"CREATE DATABASE {DATABASE}")
    dump = subprocess.Popen(["pg_dump", one.postgres().url(TEMPLATE)], stdout=subprocess.PIPE)
    _run(["psql", "-q", "-v", "ON_ERROR_STOP=1", server.url(DATABASE)], stdin=dump.stdout)
    assert dump.wait() == 0
    return {
        "COOP_DATABASE_URL": server.url(DATABASE),
        "FAULTS_POSTGRES": f"{server.folder}:{server.port}:{server.user or ''}",
    }


def _run(
    command: Sequence[str], environment: dict[str, str] | None = None, **options: object
) -> None:
    subprocess.run(
        command, cwd=ROOT, env=environment, check=True, stdout=subprocess.DEVNULL, **options
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))

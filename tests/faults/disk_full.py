"""A disk that is really full, three times: with SQLite, with PostgreSQL, and with its WAL too.

Each has a file system of its own (``small_disk``) which is filled to its last byte while people
book, send files and wait for a report (``disk_full_work``). That takes a mount, and with it
root: where the machine refuses, the one row says so.
"""

import subprocess
import sys
from collections.abc import Iterable

from tests.faults import small_disk
from tests.faults.machine import ROOT
from tests.faults.rows import Row, exactly


def rows() -> Iterable[Row]:
    if not small_disk.is_allowed():
        why = "disks not tried: mounting a file system takes root and unshare(1), refused here"
        yield Row(name="disk_full_not_tried", value=len(small_disk.SIZES_MIB), unit=why)
        return
    held = 0
    for kind in small_disk.SIZES_MIB:
        module = [sys.executable, "-m", "tests.faults.small_disk", kind]
        process = subprocess.Popen([*small_disk.IN_ITS_OWN_NAMESPACE, *module], cwd=ROOT)
        try:
            held += process.wait() == 0
        finally:
            process.terminate()
            process.wait()
    yield exactly("disk_full_held", held, "disks", len(small_disk.SIZES_MIB))

"""Files that are there whole or not at all, also when a disk fills up while they are written."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any
from uuid import uuid4

from django.core.files.storage import FileSystemStorage


@contextmanager
def whole_file(path: Path) -> Iterator[IO[bytes]]:
    """Write beside ``path`` and move there in the end; a failure leaves what was there before.

    A pipe or a device is written to as it is. Raises ``OSError``.
    """
    if path.exists() and not path.is_file():
        with path.open("wb") as out:
            yield out
        return
    place = path.resolve()
    part = place.with_name(f"{place.name}.{uuid4().hex[:8]}.part")
    try:
        with part.open("wb") as out:
            yield out
        part.replace(place)
    finally:
        part.unlink(missing_ok=True)


class WholeFileStorage(FileSystemStorage):
    """Where uploads and exports are kept; nobody finds one that was not written to its end."""

    def _save(self, name: str, content: Any) -> str:
        place = Path(self.path(name))
        place.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(place) as out:
            out.writelines(content.chunks())
        if self.file_permissions_mode is not None:
            place.chmod(self.file_permissions_mode)
        return name

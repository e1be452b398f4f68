"""The files of a data package, in a folder or a zip archive, and which of them may be opened."""

import contextlib
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any, cast

from coop.storable import is_storable_json
from scrapes.cameras.observation_rows import ImportRefused, shown
from scrapes.cameras.settings import ImportSettings
from scrapes.cameras.tables import UNREADABLE, bounded_text

DESCRIPTION = "datapackage.json"


@dataclass(frozen=True, kw_only=True)
class PackageFiles:
    """Where a package lies: ``root`` is a folder or a zip archive, ``inside`` the folder in it."""

    root: Path
    inside: str
    zipped: bool

    @contextlib.contextmanager
    def opened(self, path: str, *, settings: ImportSettings) -> Iterator[io.TextIOWrapper]:
        """Text of one file within the limits; raises :class:`ImportRefused` if it cannot be had."""
        with contextlib.ExitStack() as stack:
            try:
                if self.zipped:
                    source, size = self._from_zip(path, stack)
                else:
                    source, size = self._from_folder(path, stack)
            except KeyError as error:
                raise _no_such_file(path) from error
            except UNREADABLE as error:
                raise ImportRefused("file_damaged", f"{path} cannot be opened: {error}.") from error
            yield stack.enter_context(
                bounded_text(
                    source, name=path, packed_size=size, packed=self.zipped, settings=settings
                )
            )

    def _from_zip(self, path: str, stack: contextlib.ExitStack) -> tuple[IO[bytes], int]:
        archive = stack.enter_context(zipfile.ZipFile(self.root))
        entry = archive.getinfo(self.inside + path)
        return stack.enter_context(archive.open(entry)), entry.compress_size

    def _from_folder(self, path: str, stack: contextlib.ExitStack) -> tuple[IO[bytes], int]:
        place = (self.root / path).resolve()
        # A link inside the folder must not lead out of it.
        if not place.is_relative_to(self.root.resolve()) or not place.is_file():
            raise _no_such_file(path)
        return stack.enter_context(place.open("rb")), place.stat().st_size


def find_package(place: Path, *, settings: ImportSettings) -> PackageFiles:
    """The package at ``place``: a folder, or a zip archive that holds it at its top or one below.

    Raises :class:`ImportRefused` where there is none.
    """
    if place.is_dir():
        if not (place / DESCRIPTION).is_file():
            raise ImportRefused("no_description", f"The folder holds no {DESCRIPTION}.")
        return PackageFiles(root=place, inside="", zipped=False)
    try:
        with zipfile.ZipFile(place) as archive:
            entries = archive.infolist()
    except UNREADABLE as error:
        raise ImportRefused("no_package", "The file is neither a folder nor a zip.") from error
    if len(entries) > settings.most_files:
        raise ImportRefused("too_many_files", f"The archive holds {len(entries)} files.")
    if any(entry.flag_bits & 1 for entry in entries):
        raise ImportRefused("encrypted", "The archive is locked by a password.")
    return PackageFiles(root=place, inside=_folder_of_description(entries), zipped=True)


def _folder_of_description(entries: list[zipfile.ZipInfo]) -> str:
    found = [
        entry.filename.removesuffix(DESCRIPTION)
        for entry in entries
        if PurePosixPath(entry.filename).name == DESCRIPTION and entry.filename.count("/") <= 1
    ]
    if "" in found:
        return ""
    if len(found) != 1:
        raise ImportRefused(
            "no_description", f"The archive must hold one {DESCRIPTION}, at its top or one below."
        )
    return found[0]


def read_description(files: PackageFiles, *, settings: ImportSettings) -> dict[str, Any]:
    """``datapackage.json`` as an object; raises :class:`ImportRefused` if it is none."""
    limit = round(settings.largest_description_mb * 1_000_000)
    with files.opened(DESCRIPTION, settings=settings) as text:
        try:
            written = text.read(limit + 1)
        except UNREADABLE as error:
            raise ImportRefused("description_invalid", f"{DESCRIPTION} is not text.") from error
    if len(written) > limit:
        raise ImportRefused("description_too_large", f"{DESCRIPTION} is larger than allowed.")
    try:
        description = json.loads(written)
    except (ValueError, RecursionError) as error:
        raise ImportRefused("description_invalid", f"{DESCRIPTION} is not JSON.") from error
    if not isinstance(description, dict):
        raise ImportRefused("description_invalid", f"{DESCRIPTION} must be an object.")
    if not is_storable_json(description):
        raise ImportRefused(
            "description_invalid", f"{DESCRIPTION} holds a NUL or half a surrogate pair."
        )
    return cast(dict[str, Any], description)


def checked_path(path: object) -> str:
    """A relative path that stays inside the package; raises :class:`ImportRefused` otherwise."""
    if not isinstance(path, str) or not path:
        raise ImportRefused("path_invalid", "A table must have one path, as text.")
    unsafe = (
        path[0] in "./~"
        or ".." in path
        or "\\" in path
        or ":" in path
        or any(ord(letter) < 32 for letter in path)
    )
    if unsafe:
        raise ImportRefused(
            "path_unsafe",
            f"{shown(path)} must be a path inside the package: no address, no leading '.', '/' or "
            "'~', no '..'.",
        )
    return path


def _no_such_file(path: str) -> ImportRefused:
    return ImportRefused("file_missing", f"The package holds no {shown(path)}.")

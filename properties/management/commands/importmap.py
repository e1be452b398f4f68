"""Read a GeoJSON or GPX file onto a property."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.land.exchange import PlaceKind
from properties.land.positions import InvalidGeometry
from properties.management.commands._property import add_property_argument, property_named
from properties.management.commands._reasons import nothing_taken
from properties.stands.map_import import MapImport, import_map


class Command(BaseCommand):
    help = (
        "Read features and stands from a GeoJSON (RFC 7946) or GPX file onto a property. A "
        "place's kind comes from its 'kind' property (GeoJSON) or 'type' element (GPX), else "
        "from --kind. All or nothing, unless --partial. What is mapped already under a name "
        "stays as it is. Ends with a reconciliation: read, taken, skipped with reasons."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="the map file")
        add_property_argument(parser)
        parser.add_argument(
            "--kind",
            choices=[kind.value for kind in PlaceKind if kind is not PlaceKind.BOUNDARY],
            help="for places whose kind the file does not state",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="judge everything and write nothing"
        )
        parser.add_argument(
            "--partial",
            action="store_true",
            help="take what is good although other places are not",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            content = path.read_bytes()
        except OSError as problem:
            raise CommandError(f"cannot read {path}: {problem.strerror}") from problem
        try:
            result = import_map(
                actor=system_actor("importmap"),
                land=property_named(options["property"]),
                content=content,
                default_kind=PlaceKind(options["kind"]) if options["kind"] else None,
                dry_run=options["dry_run"],
                partial=options["partial"],
                now=timezone.now(),
            )
        except InvalidGeometry as problem:
            raise CommandError(f"{path}: {problem}") from problem
        self._print(result)
        if not (result.written or options["dry_run"]):
            hint = ", or use --partial" if len(result.faults) < result.read else ""
            raise nothing_taken(
                f"nothing was written: {len(result.faults)} places cannot be taken; "
                f"correct them{hint}",
                [f"{one.pointer} “{one.name}”: {one.detail}" for one in result.faults],
            )

    def _print(self, result: MapImport) -> None:
        for place in result.taken:
            self.stdout.write(f"taken    {place.kind:<13} {place.name}")
        for skipped in result.skipped:
            self.stdout.write(f"skipped  {skipped.pointer} “{skipped.name}”: {skipped.detail}")
        for note in result.notes:
            self.stdout.write(f"note     {note}")
        ending = "" if result.written else " (nothing written)"
        self.stdout.write(f"{result.sentence}{ending}")

"""Write a property's features and stands as GeoJSON or GPX."""

from pathlib import Path
from typing import Any

import orjson
from django.core.management.base import BaseCommand, CommandError, CommandParser

from coop.access.actors import system_actor
from coop.whole_files import whole_file
from properties.land.geojson import feature_collection
from properties.land.gpx import write_gpx
from properties.management.commands._property import add_property_argument, property_named
from properties.stands.map_export import CREATOR, exported_places


class Command(BaseCommand):
    help = (
        "Write what is mapped on a property, features and stands, to a file. GeoJSON keeps "
        "everything; GPX knows no areas and writes them as lines. Ends with the counts by kind."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        add_property_argument(parser)
        parser.add_argument("--as", dest="format", choices=["geojson", "gpx"], default="geojson")
        parser.add_argument("--output", type=Path, required=True, help="the file to write")

    def handle(self, *_args: Any, **options: Any) -> None:
        land = property_named(options["property"])
        places = list(exported_places(actor=system_actor("exportmap"), land=land))
        if options["format"] == "gpx":
            content = write_gpx(places, creator=CREATOR)
        else:
            content = orjson.dumps(feature_collection(places), option=orjson.OPT_INDENT_2)
        path: Path = options["output"]
        try:
            with whole_file(path) as out:
                out.write(content)
        except OSError as problem:
            raise CommandError(f"cannot write {path}: {problem.strerror}") from problem
        kinds = [str(place.kind) for place in places]
        for kind in sorted(set(kinds)):
            self.stdout.write(f"{kinds.count(kind):>5}  {kind}")
        self.stdout.write(f"{len(places)} places of {land.name} written to {path}")

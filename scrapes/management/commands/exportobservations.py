"""Write what cameras saw on a property to a file."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from coop.whole_files import whole_file
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.management.commands._property import add_property_argument, property_named
from scrapes.cameras.camtrap_export import NothingToExport, PackageWritten
from scrapes.cameras.export_services import export_package
from scrapes.cameras.flat_export import observations_csv, observations_geojson
from scrapes.cameras.models import Observation
from scrapes.visits.visit_export import visits_csv, visits_geojson, visits_out

KINDS = ("camtrap-dp", "observations-csv", "observations-geojson", "visits-csv", "visits-geojson")
USUAL_DAYS = 30


class Command(BaseCommand):
    help = (
        "Write what cameras saw on one property: all of it as a Camtrap DP 1.0.2 package (zip), "
        "its observations as CSV or GeoJSON, or the visits counted from them over some days. "
        "Ends with the counts, and for a package with what the standard cannot say."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        add_property_argument(parser)
        parser.add_argument("--as", dest="kind", choices=KINDS, default=KINDS[0])
        parser.add_argument("--output", type=Path, required=True, help="the file to write")
        parser.add_argument(
            "--precision-deg",
            type=float,
            help="step that a package's positions are rounded to; exact where left out",
        )
        parser.add_argument(
            "--first-on",
            type=date.fromisoformat,
            help="first local date of visits; default: 30 days up to the last",
        )
        parser.add_argument(
            "--last-on", type=date.fromisoformat, help="last local date of visits; default: today"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        land = property_named(options["property"])
        path: Path = options["output"]
        kind: str = options["kind"]
        try:
            if kind == "camtrap-dp":
                self._package(land, path, options["precision_deg"])
            elif kind.startswith("observations"):
                self._observations(land, path, kind)
            else:
                self._visits(land, path, kind, options["first_on"], options["last_on"])
        except OSError as problem:
            raise CommandError(f"cannot write {path}: {problem.strerror}") from problem

    def _package(self, land: Property, path: Path, precision_deg: float | None) -> None:
        if precision_deg is not None and not 0.0001 <= precision_deg <= 1:
            raise CommandError("--precision-deg must lie between 0.0001 and 1")
        try:
            with whole_file(path) as out:
                written = export_package(
                    actor=system_actor("exportobservations"),
                    land=land,
                    out=out,
                    precision_deg=precision_deg,
                    now=timezone.now(),
                )
        except NothingToExport as nothing:
            raise CommandError(str(nothing)) from nothing
        self._print(land, path, written)

    def _print(self, land: Property, path: Path, written: PackageWritten) -> None:
        for one in written.unsaid:
            self.stdout.write(f"not said: {one.sentence}")
        for name in written.left_out:
            self.stdout.write(f"left out: deployment {name}")
        self.stdout.write(
            f"{written.observations} observations, {written.media} media, {written.deployments} "
            f"deployments, {written.outages} outages and {written.statuses} signs of life of "
            f"{land.name} written to {path}"
        )

    def _observations(self, land: Property, path: Path, kind: str) -> None:
        rows = Observation.objects.filter(deployment__scrape__property=land)
        write = observations_csv if kind.endswith("csv") else observations_geojson
        lines: Iterator[bytes] = write(rows, shows_place=lambda _land_id: True)
        with whole_file(path) as out:
            out.writelines(lines)
        self.stdout.write(f"{rows.count()} observations of {land.name} written to {path}")

    def _visits(
        self, land: Property, path: Path, kind: str, first_on: date | None, last_on: date | None
    ) -> None:
        now = timezone.now()
        last_on = last_on or local_date_on(land, now)
        first_on = first_on or last_on - timedelta(days=USUAL_DAYS - 1)
        if last_on < first_on:
            raise CommandError("--last-on lies before --first-on")
        visits = visits_out(
            actor=system_actor("exportobservations"),
            land=land,
            first_on=first_on,
            last_on=last_on,
            now=now,
        )
        with whole_file(path) as out:
            out.write(visits_csv(visits) if kind.endswith("csv") else visits_geojson(visits))
        self.stdout.write(
            f"{len(visits)} visits to scrapes of {land.name} from {first_on} to {last_on} written "
            f"to {path}"
        )

"""Take a weather file in: a forecast, or observations."""

from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.land import settings as layered_settings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.management.commands._property import property_named
from properties.management.commands._reasons import nothing_taken
from properties.wind.reading import UnreadableWeather, WeatherFile, WeatherFormat, read_weather
from properties.wind.services import store_forecast, store_observations
from properties.wind.weather_hours import PlausibleWeather, WeatherImport


class Command(BaseCommand):
    help = (
        "Take in wind for one property from a file: the government's gridpoint forecast JSON, "
        "surface reports (METAR bulletins), or the documented CSV. Forecasts are kept issue by "
        "issue, observations hour by hour; the same content twice adds nothing. Ends with a "
        "reconciliation: read, taken, and skipped by reason with lines. Fails where no hour can "
        "be used."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="the file to read")
        parser.add_argument("--property", required=True, help="name or id of the property")
        parser.add_argument(
            "--format", required=True, choices=[kind.value for kind in WeatherFormat]
        )
        parser.add_argument(
            "--as",
            dest="what",
            choices=["forecast", "observations"],
            help="default: forecast for gridpoint, observations for metar and csv",
        )
        parser.add_argument(
            "--reference",
            type=datetime.fromisoformat,
            help="instant with offset near which the reports' days lie, or the issue's own time",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        land = property_named(options["property"])
        now = timezone.now()
        found = self._read(land, options, now)
        if not found.hours:
            raise nothing_taken(
                f"{options['file']}: no hour can be used: {found.reconciliation}",
                [f"{_where(item.place)}: {item.reason}" for item in found.skipped],
            )
        kind = options["format"]
        what = options["what"] or ("forecast" if kind == "gridpoint" else "observations")
        self.stdout.write(f"{options['file']} ({kind}) for {land.name}: {found.reconciliation}")
        if what == "forecast":
            stored = store_forecast(
                actor=system_actor("importwind"), land=land, found=found, source=kind, now=now
            )
            self.stdout.write(
                f"Forecast issue {stored.issue.id} of {stored.issue.issued_at.isoformat()}: "
                f"{'new' if stored.is_new else 'held already, nothing added'}."
            )
            return
        kept = store_observations(
            actor=system_actor("importwind"), land=land, hours=found.hours, source=kind, now=now
        )
        self.stdout.write(f"{kept.new} hours are new, {kept.held_already} were held already.")

    def _read(self, land: Property, options: dict[str, Any], now: datetime) -> WeatherImport:
        try:
            content = options["file"].read_bytes()
        except OSError as problem:
            raise CommandError(f"{options['file']}: {problem.strerror}") from problem
        file = WeatherFile(
            content=content,
            format=WeatherFormat(options["format"]),
            reference=options["reference"] or now,
            bounds=layered_settings.resolve(PlausibleWeather, *setting_layers(land)),
        )
        try:
            return read_weather(file)
        except UnreadableWeather as problem:
            raise CommandError(f"{options['file']}: {problem}") from problem


def _where(place: int | str) -> str:
    return f"line {place}" if isinstance(place, int) else place

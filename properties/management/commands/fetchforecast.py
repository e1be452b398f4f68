"""Fetch the government's forecast for properties."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.land.models import Property
from properties.management.commands._property import properties_chosen
from properties.wind.forecast_client import (
    ForecastRefused,
    ForecastServiceMisconfigured,
    ForecastUnavailable,
)
from properties.wind.gridpoint_document import UnreadableForecast
from properties.wind.jobs import fetch_for


class Command(BaseCommand):
    help = (
        "Ask the US government's weather service for the gridpoint forecast of each property "
        "(or of one) and keep it. Needs COOP_WEATHER_USER_AGENT: the service wants to know the "
        "application and a contact. Ends with a reconciliation for each property."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id of one property; default: all")

    def handle(self, *_args: Any, **options: Any) -> None:
        if not settings.WEATHER_USER_AGENT:
            raise CommandError(
                "COOP_WEATHER_USER_AGENT is not set: name your application and a contact."
            )
        failed = 0
        for land in properties_chosen(options["property"]):
            failed += not self._fetch(land)
        if failed:
            raise CommandError(f"{failed} forecasts could not be taken in; see above.")

    def _fetch(self, land: Property) -> bool:
        try:
            stored, reconciliation = fetch_for(land, now=timezone.now())
        except (
            ForecastRefused,
            ForecastUnavailable,
            ForecastServiceMisconfigured,
            UnreadableForecast,
        ) as problem:
            self.stderr.write(f"{land.name}: {problem}")
            return False
        state = "new" if stored.is_new else "held already"
        self.stdout.write(f"{land.name}: {reconciliation}; {state}.")
        return True

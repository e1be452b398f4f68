"""Sum up a past season's wind now, in this process."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.land.local_dates import local_date_on
from properties.management.commands._property import property_named
from properties.wind.history_services import NoSeason, sum_up_season


class Command(BaseCommand):
    help = (
        "Judge every stand in every session of a past season on the wind that was observed: "
        "fit by sector and speed, the share of sessions in which each stand could be hunted, "
        "and the sectors for which the property has no huntable stand. Ends with sessions "
        "observed and not observed, and the gaps."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", required=True, help="name or id of the property")
        parser.add_argument(
            "--season", type=int, required=True, help="year in which the season's year begins"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        land = property_named(options["property"])
        now = timezone.now()
        today = local_date_on(land, now)
        try:
            done = sum_up_season(land=land, season_year=options["season"], today=today, now=now)
        except NoSeason as nothing:
            raise CommandError(str(nothing)) from nothing
        result = done.history.result
        self.stdout.write(
            f"{land.name}, season of {options['season']}: {result['sessions']} sessions = "
            f"{result['observed_sessions']} observed + {result['unobserved_sessions']} not "
            f"observed; {len(result['stands'])} stands; "
            f"{'computed' if done.is_new else 'unchanged'}; no huntable stand for wind from: "
            f"{', '.join(result['gaps']) or 'none of the sectors seen often enough'}."
        )

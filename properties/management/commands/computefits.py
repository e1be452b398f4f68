"""Compute fits now, in this process."""

from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from properties.management.commands._property import properties_chosen
from properties.wind import fit_services


class Command(BaseCommand):
    help = (
        "Compute the fit of every stand in every session of the coming days from the latest "
        "forecast: whether the wind will betray the sit on the way in, during the hunt or on "
        "the way out. Fits whose forecast, map and settings stand are left alone. Ends with "
        "how many were computed, unchanged, and not known."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id of one property; default: all")
        parser.add_argument("--first", type=date.fromisoformat, help="default: today there")
        parser.add_argument("--last", type=date.fromisoformat, help="default: a week from today")
        parser.add_argument(
            "--at",
            type=datetime.fromisoformat,
            help="compute with what was known at this instant (with offset); default: now",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        now = options["at"] or timezone.now()
        for land in properties_chosen(options["property"]):
            first_on, last_on = fit_services.horizon(land, now)
            done = fit_services.compute_fits(
                land=land,
                first_on=options["first"] or first_on,
                last_on=options["last"] or last_on,
                now=now,
            )
            if done.issue is None:
                self.stdout.write(f"{land.name}: no forecast is known; nothing computed.")
                continue
            self.stdout.write(
                f"{land.name}: {done.stands} stands × {done.sessions} sessions = "
                f"{done.computed} computed + {done.unchanged} unchanged, from the forecast of "
                f"{done.issue.issued_at.isoformat()}."
            )

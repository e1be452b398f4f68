"""Learn the stands' own wind now, in this process."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from properties.management.commands._property import properties_chosen
from properties.wind.learning_services import learn_stand_winds


class Command(BaseCommand):
    help = (
        "Learn what each stand does to the wind: the mean offset and the spread per sector "
        "between the wind that members reported there and the wind observed, or else forecast, "
        "in that hour; shrunk towards no offset and the settings' spread where reports are few. "
        "Ends with how many reports were used, and how many left out for which reason."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id of one property; default: all")

    def handle(self, *_args: Any, **options: Any) -> None:
        for land in properties_chosen(options["property"]):
            learned = learn_stand_winds(land=land, now=timezone.now())
            self.stdout.write(f"{land.name}: {learned.reconciliation}.")

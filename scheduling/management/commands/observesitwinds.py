"""Fill the observed wind of past sits from the command line."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.management.commands._property import properties_chosen
from scheduling.sits.jobs import LOOKS_BACK_DAYS, OBSERVE_WINDS, observe_winds


class Command(BaseCommand):
    help = (
        "Give past sits the wind sector that was observed while they lasted, from station hours "
        f"imported since. Looks {LOOKS_BACK_DAYS} days back and touches only sits that have none "
        "yet, so it may run at any time and twice. Ends with a count for each property: looked "
        "at, filled, still unknown."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id; every property when left out")

    def handle(self, *args: Any, **options: Any) -> None:
        for land in properties_chosen(options["property"]):
            done = observe_winds(land=land, actor=system_actor(OBSERVE_WINDS), now=timezone.now())
            self.stdout.write(
                f"{land.name}: {done.looked_at} sits looked at, {done.filled} filled, "
                f"{done.still_unknown} still unknown"
            )

"""Work the waiting lists now, in this process."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.management.commands._property import properties_chosen
from scheduling.sits.waiting_services import WORK_WAITING_LIST
from scheduling.sits.waiting_work import work_waiting_list


class Command(BaseCommand):
    help = (
        "Give freed seats to whoever waits for them: fewest sits this season on the property "
        "first, then who asked first, each judged by all house rules. Safe to run at any time "
        "and twice. Ends for each property with: looked at, booked, offered, ended, still waiting."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id; every property when left out")

    def handle(self, *_args: Any, **options: Any) -> None:
        for land in properties_chosen(options["property"]):
            done = work_waiting_list(
                property_id=land.id, actor=system_actor(WORK_WAITING_LIST), now=timezone.now()
            )
            self.stdout.write(
                f"{land.name}: {done.looked_at} looked at = {done.booked} booked + "
                f"{done.offered} offered + {done.ended} ended + {done.still_waiting} still waiting"
            )

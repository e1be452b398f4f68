"""Open the errands that have come round now, in this process."""

from collections import Counter
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.management.commands._property import properties_chosen
from scheduling.errands.recurring_services import open_recurring


class Command(BaseCommand):
    help = (
        "Open an errand for every stand whose inspection lapses soon, every stand to be trimmed "
        "and every camera to be looked after by the calendar of the settings; close those whose "
        "work was recorded elsewhere and withdraw those whose object was retired. One errand for "
        "one thing stands open at a time. Ends with how many occasions there were, how many were "
        "opened and how many stood open already."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id of one property; default: all")

    def handle(self, *_args: Any, **options: Any) -> None:
        now, total = timezone.now(), Counter[str]()
        for land in properties_chosen(options["property"]):
            done = open_recurring(actor=system_actor("recurringerrands"), land=land, now=now)
            total.update(asdict(done))
            self.stdout.write(f"{land.name}: {done.opened} opened, {done.standing} stood open.")
        self.stdout.write(
            f"{total['occasions']} occasions = {total['opened']} opened + {total['standing']} "
            f"standing; closed before: {total['done_elsewhere']} done elsewhere, "
            f"{total['withdrawn']} withdrawn."
        )

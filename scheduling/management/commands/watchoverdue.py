"""Ask about overdue hunters from the command line."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from coop.access.actors import system_actor
from properties.land.models import Property
from scheduling.sits.overdue_jobs import WATCH_OVERDUE
from scheduling.sits.overdue_services import watch_overdue


class Command(BaseCommand):
    help = (
        "Look for sits past their end that nobody checked out of or answered for, and raise the "
        "next rung of each: the hunter, then the managers, then the call to the emergency "
        "contact. The same work as the job that runs every few minutes; it may run beside it "
        "and twice. Ends with a count for each property: looked at, raised by rung, waiting."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        for land in Property.objects.order_by("name", "id"):
            done = watch_overdue(
                property_id=land.id, actor=system_actor(WATCH_OVERDUE), now=timezone.now()
            )
            raised = ", ".join(f"{count} {rung.label}" for rung, count in done.raised.items())
            self.stdout.write(
                f"{land.name}: {done.looked_at} sits looked at, raised {raised}, "
                f"{done.still_waiting} waiting"
            )

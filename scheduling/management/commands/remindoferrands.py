"""Write the reminders of open errands now, in this process."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from scheduling.errands.models import Errand, ErrandState
from scheduling.errands.reminder_services import remind


class Command(BaseCommand):
    help = (
        "Write a reminder for each open errand that is due for one: to whoever it was given to, "
        "else to the property's managers, else to the coordinators. Reminders stop when the "
        "errand is done. Ends with how many were open, reminded of, not due yet, and without "
        "anybody to tell."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        done = remind(now=timezone.now())
        open_errands = Errand.objects.filter(state=ErrandState.OPEN).count()
        not_due = open_errands - done.written - done.nobody_to_tell
        self.stdout.write(
            f"{open_errands} open = {done.written} reminded + {not_due} not due yet + "
            f"{done.nobody_to_tell} without anybody to tell."
        )

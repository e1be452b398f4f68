"""Compute rotation drafts now, in this process."""

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.land.models import Cooperative
from properties.management.commands._property import property_named
from scheduling.rotation import services
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.queries import group_with, groups_of


class Command(BaseCommand):
    help = (
        "Compute a draft of who sits where for each group of properties that share members: "
        "from wishes, fits, what the stands have borne and the house rules. Ends with sits "
        "served of those asked for, how far from the best at most for each aim, and how many "
        "wishes were left. --publish makes the draft the plan and tells the members."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--property", help="name or id: only the group it is planned in")
        parser.add_argument("--first", type=date.fromisoformat, help="default: tomorrow there")
        parser.add_argument("--last", type=date.fromisoformat, help="default: by the settings")
        parser.add_argument("--publish", action="store_true", help="publish each draft")

    def handle(self, *_args: Any, **options: Any) -> None:
        for lands in self._groups(options["property"]):
            names = ", ".join(land.name for land in lands)
            plan = services.recompute_rotation(
                actor=system_actor("planrotation"),
                lands=lands,
                now=timezone.now(),
                first_on=options["first"],
                last_on=options["last"],
                report=lambda percent, note: self.stdout.write(f"{percent:3} % {note}"),
            )
            self._show(names, plan)
            if options["publish"]:
                published = services.publish_plan(
                    actor=system_actor("planrotation"), plan=plan, now=timezone.now()
                )
                self.stdout.write(f"Published: {published.placed.sentence}.")

    def _groups(self, chosen: str | None) -> list[Any]:
        if chosen:
            return [group_with(property_named(chosen))]
        return [group for found in Cooperative.objects.all() for group in groups_of(found)]

    def _show(self, names: str, plan: RotationPlan) -> None:
        result = plan.result
        self.stdout.write(
            f"{names}, {plan.first_on} to {plan.last_on}: {plan.seats.count()} seats, "
            f"{result['requested']} sits asked for, {result['status']} in {result['seconds']} s."
        )
        for level in result["levels"]:
            # Changes are made few, everything else much.
            limit = "at least" if level["name"] == "changes" else "at most"
            self.stdout.write(
                f"  {level['name']}: {level['value']:g}, {limit} {level['bound']:g} "
                f"(gap {level['gap_pct']:g} %)"
            )
        for sentence in result["booking_conflicts"]:
            self.stdout.write(f"  Bookings that break a rule: {sentence}")
        self.stdout.write(f"  {len(plan.explanations)} members have fewer sits than asked for.")

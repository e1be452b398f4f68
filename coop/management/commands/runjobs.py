"""Drain jobs, facts and messages in this process."""

import time
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from coop.jobs import runner, services
from coop.jobs.models import JobRun
from coop.outbox import services as outbox
from coop.outbox.webhooks.delivery import deliver_due


class Command(BaseCommand):
    help = (
        "Run what is due: jobs, facts, messages and webhooks, from the same rows that Celery "
        "workers use. Ends when nothing is left, or goes on with --forever. Prints each finished "
        "run."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--forever", action="store_true", help="go on and look again every second"
        )
        parser.add_argument(
            "--no-schedule",
            action="store_true",
            help="do not write the runs that the schedules find due",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        self.stdout.write(runner.BANNER)
        total = 0

        def queue_due(*, urgent: bool | None = None) -> None:
            if not options["no_schedule"]:
                services.enqueue_due(now=timezone.now(), urgent=urgent)

        while True:
            queue_due()
            drained = runner.drain_once(
                drain_outbox=lambda: outbox.drain(now=timezone.now()),
                deliver=deliver_due,
                between=lambda: queue_due(urgent=True),
                on_run=self._print,
            )
            total += drained.runs
            if drained.nothing:
                if not options["forever"]:
                    break
                # Rows come from other processes; a database has no portable bell.
                time.sleep(1)
        self.stdout.write(f"{total} job runs finished; nothing is left that is due.")

    def _print(self, run: JobRun) -> None:
        self.stdout.write(f"{run.name} {run.scope} {run.state} {run.error}".rstrip())

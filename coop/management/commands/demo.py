"""Lay out an invented cooperative and run the main job on it, end to end."""

import time
from datetime import date
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from rich.console import Console

from coop.demo.database import NotADemoDatabase, prepare_database
from coop.demo.run import run_demo, tell
from coop.demo.scenario import REMARK, Calendar, calendar_at, calendar_of
from coop.demo.work import DemoJobFailed
from coop.jobs import bell, runner

_NARROWEST = 120


class Command(BaseCommand):
    help = (
        "Show the whole job on an invented cooperative, laid out around today: make the "
        "database, write the files that a weather service, a logger and cameras would have sent, "
        "take them in as anybody's files, write a season of sits, learn the stands' wind, compute "
        "fits, review the scrapes, plan and publish the rotation, write last month's reports, "
        "the season so far and the weeks ahead. "
        "Prints a reconciliation of every file, tables of what came out, the files written, and a "
        "token for each role with one line to try. Run again on the same day it adds nothing but "
        "new tokens; on another day the former demo is put aside and a new one laid out. It never "
        "touches a database that holds anybody's own cooperative."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--today",
            type=date.fromisoformat,
            metavar="YYYY-MM-DD",
            help="the day around which everything is laid out (default: today there)",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        began = time.monotonic()
        calendar = _calendar(options["today"])
        folder = settings.VAR_DIR / "demo"
        console = _console(self.stdout)
        console.print(REMARK, style="bold", highlight=False)
        if not bell.has_broker():
            console.print(runner.BANNER, highlight=False)
        try:
            aside = prepare_database(calendar, put_aside_in=folder / "former")
            if aside is not None:
                console.print(f"The demo of another day was put aside as {aside}.", soft_wrap=True)
            demo = run_demo(calendar, folder=folder, console=console)
        except (NotADemoDatabase, DemoJobFailed) as problem:
            raise CommandError(str(problem)) from problem
        tell(demo, console)
        what = "stood already; nothing was added to it" if demo.was_built else "is laid out"
        console.print(
            f"\n{demo.cooperative.cooperative.name} {what}. {demo.runs} jobs run, "
            f"{time.monotonic() - began:.0f} s.",
            highlight=False,
        )


def _calendar(today: date | None) -> Calendar:
    return calendar_at(timezone.now()) if today is None else calendar_of(today)


def _console(stdout: Any) -> Console:
    """As wide as the terminal; a pipe has no width, so it gets one that fits the tables."""
    console = Console(file=stdout)
    return console if console.is_terminal else Console(file=stdout, width=_NARROWEST)
